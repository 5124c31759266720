using System.Buffers;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

/// <summary>Quilt maps as JSON, <c>overlayplanner.quilt-map</c> version 1.</summary>
public static class QuiltMapFile
{
    /// <summary>The format's name.</summary>
    public const string Format = "overlayplanner.quilt-map";

    /// <summary>The version written.</summary>
    public const int Version = 1;

    /// <summary>Reads a map. Shape and references are checked; whether it is a plane graph, <see cref="MapCheck"/> says.</summary>
    /// <param name="utf8">The file's bytes.</param>
    /// <param name="name">The file's name, for messages.</param>
    /// <exception cref="InputException">Not such a file, of a later version, or broken; says where.</exception>
    public static QuiltMap Read(ReadOnlyMemory<byte> utf8, string name) => Read(FileHeader.Parse(utf8, name), name);

    /// <summary>Writes a map: UTF-8 JSON, indented, numbers that read back to the same doubles.</summary>
    public static byte[] Write(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArrayBufferWriter<byte> buffer = new();
        using (Utf8JsonWriter json = new(buffer, JsonOutput.Options))
        {
            Write(json, map);
        }

        return [.. buffer.WrittenSpan, (byte)'\n'];
    }

    internal static QuiltMap Read(JsonElement root, string name)
    {
        JsonFields fields = JsonFields.OfFile(root, name);
        FileHeader.Check(fields, Format, Version, name);
        JsonFields size = fields.Object("size");
        double width = size.Number("width");
        double height = size.Number("height");
        if (width <= 0 || height <= 0)
        {
            throw new InputException(
                "The map's size is not positive",
                $"{name}: size",
                "Give its width and height in inches."
            );
        }

        IReadOnlyList<Junction> junctions = fields.List("junctions", ReadJunction);
        IReadOnlyList<Seam> seams = fields.List("seams", ReadSeam);
        IReadOnlyList<Patch> patches = fields.List("patches", ReadPatch, required: false);
        IReadOnlyList<Block> blocks = fields.List("blocks", ReadBlock, required: false);
        try
        {
            return new(
                Length.FromInches(width),
                Length.FromInches(height),
                junctions,
                seams,
                patches,
                blocks,
                fields.Rest.With("size", size.Rest)
            );
        }
        catch (InputException e)
        {
            // The map knows which of its parts does not fit, not which file it came from.
            throw new InputException(e.What, $"{name}: {e.Where}", e.Remedy, e);
        }
    }

    internal static void Write(Utf8JsonWriter json, QuiltMap map)
    {
        json.WriteStartObject();
        json.WriteString("format", Format);
        json.WriteNumber("version", Version);
        json.WriteString("unit", "in");
        json.WriteStartObject("size");
        json.WriteNumber("width", map.Width.Inches);
        json.WriteNumber("height", map.Height.Inches);
        json.WriteUnknown(map.Unknown.In("size"));
        json.WriteEndObject();
        json.WriteItems("junctions", map.Junctions, WriteJunction);
        json.WriteItems("seams", map.Seams, WriteSeam);
        json.WriteItems("patches", map.Patches, WritePatch);
        json.WriteItems("blocks", map.Blocks, WriteBlock);
        json.WriteUnknown(map.Unknown);
        json.WriteEndObject();
    }

    private static Junction ReadJunction(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        Point<ClothSpace> at = new(f.Number("x"), f.Number("y"));
        double sigma = f.OptionalNumber("sigma", 0, double.PositiveInfinity) ?? 0;
        return new(f.Text("id"), new(at, Length.FromInches(sigma))) { Unknown = f.Rest };
    }

    private static Seam ReadSeam(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        return new(
            f.Text("id"),
            f.Text("from"),
            f.Text("to"),
            f.OptionalNumber("bulge") ?? 0,
            f.OptionalWord<SeamRole>("role") ?? SeamRole.Seam
        )
        {
            Edge = f.OptionalWord<EdgeKind>("edge"),
            Ditch = f.OptionalWord<Side>("ditch"),
            DitchWhy = f.OptionalText("ditchWhy"),
            DitchConfidence = f.OptionalNumber("ditchConfidence", 0, 1),
            Confidence = f.OptionalNumber("confidence", 0, 1) ?? 1,
            Unknown = f.Rest,
        };
    }

    private static Patch ReadPatch(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        return new(f.Text("id"), f.List("seams", JsonFields.TextOf))
        {
            Holes = f.List("holes", (h, p) => JsonFields.ListOf(h, p, JsonFields.TextOf), required: false),
            Color = f.OptionalText("color"),
            Leave = f.Flag("leave"),
            Unknown = f.Rest,
        };
    }

    private static Block ReadBlock(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        IReadOnlyList<Point<ClothSpace>> corners = f.List("corners", JsonFields.PointOf);
        if (corners.Count != 4)
        {
            throw JsonFields.Wrong(place + ".corners", "a list of four corners");
        }

        return new(f.Text("id"), corners)
        {
            Row = f.OptionalInteger("row"),
            Column = f.OptionalInteger("column"),
            Pattern = f.OptionalText("pattern"),
            Called = f.OptionalText("called"),
            Turn = f.OptionalInteger("turn") ?? 0,
            Mirror = f.Flag("mirror"),
            Patches = f.List("patches", JsonFields.TextOf, required: false),
            Unknown = f.Rest,
        };
    }

    private static void WriteJunction(Utf8JsonWriter json, Junction j)
    {
        json.WriteStartObject();
        json.WriteString("id", j.Id);
        json.WriteNumber("x", j.Place.X);
        json.WriteNumber("y", j.Place.Y);
        json.WriteNumber("sigma", j.At.Sigma.Inches);
        json.WriteUnknown(j.Unknown);
        json.WriteEndObject();
    }

    private static void WriteSeam(Utf8JsonWriter json, Seam s)
    {
        json.WriteStartObject();
        json.WriteString("id", s.Id);
        json.WriteString("from", s.From);
        json.WriteString("to", s.To);
        json.WriteNumber("bulge", s.Bulge);
        json.WriteString("role", Words<SeamRole>.Of(s.Role));
        json.WriteOptional("edge", s.Edge is { } edge ? Words<EdgeKind>.Of(edge) : null);
        json.WriteOptional("ditch", s.Ditch is { } ditch ? Words<Side>.Of(ditch) : null);
        if (s.DitchWhy is { } why)
        {
            json.WriteString("ditchWhy", why);
        }

        if (s.DitchConfidence is { } sure)
        {
            json.WriteNumber("ditchConfidence", sure);
        }

        json.WriteNumber("confidence", s.Confidence);
        json.WriteUnknown(s.Unknown);
        json.WriteEndObject();
    }

    private static void WritePatch(Utf8JsonWriter json, Patch p)
    {
        json.WriteStartObject();
        json.WriteString("id", p.Id);
        json.WriteTexts("seams", p.Seams);
        json.WriteStartArray("holes");
        foreach (IReadOnlyList<string> hole in p.Holes)
        {
            json.WriteStartArray();
            foreach (string id in hole)
            {
                json.WriteStringValue(id);
            }

            json.WriteEndArray();
        }

        json.WriteEndArray();
        json.WriteOptional("color", p.Color);
        json.WriteBoolean("leave", p.Leave);
        json.WriteUnknown(p.Unknown);
        json.WriteEndObject();
    }

    private static void WriteBlock(Utf8JsonWriter json, Block b)
    {
        json.WriteStartObject();
        json.WriteString("id", b.Id);
        json.WriteStartArray("corners");
        foreach (Point<ClothSpace> c in b.Corners)
        {
            json.WritePoint(c);
        }

        json.WriteEndArray();
        json.WriteOptional("row", b.Row);
        json.WriteOptional("column", b.Column);
        json.WriteOptional("pattern", b.Pattern);
        if (b.Called is { } called)
        {
            json.WriteString("called", called);
        }

        json.WriteNumber("turn", b.Turn);
        json.WriteBoolean("mirror", b.Mirror);
        json.WriteTexts("patches", b.Patches);
        json.WriteUnknown(b.Unknown);
        json.WriteEndObject();
    }
}
