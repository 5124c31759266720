using System.Text.Json;
using ImageMagick;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>The photograph in <c>samples/</c>: six sawtooth stars, loaded on a frame. Made here, and labelled so.</summary>
public static class SampleScene
{
    /// <summary>Names of the sample's files in <c>samples/</c>.</summary>
    public const string PhotoFile = "sampler-top.jpg";

    /// <summary>Corner pixels and size.</summary>
    public const string TruthFile = "sampler-top.truth.json";

    /// <summary>The map as it was sewn.</summary>
    public const string MapFile = "sampler-top.truth.quilt.json";

    /// <summary>What the photograph's EXIF description says.</summary>
    public const string Label = "Made picture (rendered, not photographed): OverlayPlanner sample, six sawtooth stars";

    /// <summary>The scene's wishes.</summary>
    public static SceneWishes Wishes { get; } =
        new()
        {
            Name = "sampler-top",
            Seed = 21,
            Pattern = "sawtooth-star",
            BlockInches = 12,
            Columns = 3,
            Rows = 2,
            Fabrics = FabricMix.Prints,
            Ground = FabricMix.Quiet,
            PaletteIndex = 2,
            Scrappy = true,
            WobbleInches = 0.05,
            DitchDepth = 0.75,
            PressedOpenShare = 0,
            Pucker = 0.8,
            Surround = Surround.Frame,
            PhotoWidth = 4000,
            PhotoHeight = 3000,
            TiltDegrees = 14,
            StandDegrees = 8,
            RollDegrees = -0.8,
            FocalLength35Millimeters = 26,
            Around = 0.09,
            UnevenLight = 0.5,
            Vignetting = 0.35,
            BlurPixels = 0.9,
            NoiseSigma = 1.3,
            Sharpening = 0.35,
            JpegQuality = 82,
        };

    /// <summary>The photograph (JPEG with its label), corners and size, and the map as it was sewn.</summary>
    public static (MadeScene Scene, byte[] Photo, byte[] Truth, byte[] Map) Make()
    {
        MadeScene scene = SceneMaker.Make(Wishes);
        return (scene, Labelled(scene.Jpeg), TruthOf(scene), QuiltMapFile.Write(scene.Truth));
    }

    // Puts the label in without decoding: an EXIF segment after the start of the image.
    private static byte[] Labelled(byte[] jpeg)
    {
        ExifProfile exif = new();
        exif.SetValue(ExifTag.ImageDescription, Label);
        exif.SetValue(ExifTag.Software, "OverlayPlanner scene maker");
        exif.SetValue(ExifTag.Orientation, (ushort)1);
        exif.SetValue(ExifTag.FocalLengthIn35mmFilm, (ushort)Wishes.FocalLength35Millimeters);
        byte[] body = exif.ToByteArray() ?? throw new InvalidOperationException("No EXIF was written.");
        int length = body.Length + 2;
        byte[] head = [0xFF, 0xD8, 0xFF, 0xE1, (byte)(length >> 8), (byte)length];
        return [.. head, .. body, .. jpeg.AsSpan(2)];
    }

    private static byte[] TruthOf(MadeScene scene)
    {
        using MemoryStream stream = new();
        using (Utf8JsonWriter json = new(stream, new JsonWriterOptions { Indented = true, NewLine = "\n" }))
        {
            json.WriteStartObject();
            json.WriteString("photo", PhotoFile);
            json.WriteString("made", Label);
            json.WriteNumber("photoWidthPx", scene.PhotoWidth);
            json.WriteNumber("photoHeightPx", scene.PhotoHeight);
            json.WriteStartArray("cornersPx");
            foreach (Point<PhotoSpace> c in scene.Corners)
            {
                json.WriteStartArray();
                json.WriteNumberValue(Math.Round(c.X, 3));
                json.WriteNumberValue(Math.Round(c.Y, 3));
                json.WriteEndArray();
            }

            json.WriteEndArray();
            json.WriteStartArray("size");
            json.WriteNumberValue(scene.Truth.Width.Inches);
            json.WriteNumberValue(scene.Truth.Height.Inches);
            json.WriteEndArray();
            json.WriteString("map", MapFile);
            json.WriteEndObject();
        }

        stream.WriteByte((byte)'\n');
        return stream.ToArray();
    }
}
