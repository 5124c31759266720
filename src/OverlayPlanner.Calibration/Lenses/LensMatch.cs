using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Whether a lens profile belongs to a photo, by what both say about the camera.</summary>
public static class LensMatch
{
    // EXIF gives the 35 mm focal length in whole millimetres; the picture's own focal length in tenths.
    private const double FocalTolerance = 0.03;

    /// <summary>The profile for the photo: itself, or scaled to the photo's size with its covariance.</summary>
    /// <exception cref="InputException">
    /// The photo has another shape, or says that another camera, lens or zoom took it. What the photo does not say is not held
    /// against it.
    /// </exception>
    public static LensProfile For(LensProfile lens, Photo photo)
    {
        ArgumentNullException.ThrowIfNull(lens);
        ArgumentNullException.ThrowIfNull(photo);
        PhotoFacts facts = photo.Facts;
        if (lens.Camera is { ValueKind: JsonValueKind.Object } camera)
        {
            string? name = Text(camera, "name");
            if (name is not null && facts.Camera is not null && name != facts.Camera)
            {
                throw new InputException(
                    "The lens profile belongs to another camera",
                    $"the profile is for {name}, {photo.Name} was taken with {facts.Camera}",
                    "Use that camera's own profile, or make one with the lens command."
                );
            }

            CheckFocal(
                Number(camera, "focalLength35Millimeters"),
                facts.FocalLength35Millimeters,
                photo.Name,
                "the profile"
            );
            CheckFocal(
                Number(camera, "focalLengthMillimeters"),
                facts.FocalLengthMillimeters,
                photo.Name,
                "the profile"
            );
        }

        LensProfile fitting = lens.ForPhoto(photo.Picture.Width, photo.Picture.Height);
        if (fitting.Covariance is null && lens.Covariance is { } covariance)
        {
            double sx = (double)fitting.Width / lens.Width;
            double sy = (double)fitting.Height / lens.Height;
            double[] s = [sx, sy, sx, sy, 1, 1, 1, 1, 1];
            fitting = fitting with
            {
                Covariance = [.. covariance.Select((row, i) => row.Select((v, j) => v * s[i] * s[j]).ToArray())],
            };
        }

        return fitting;
    }

    /// <summary>What a profile keeps of the camera.</summary>
    internal static JsonElement Describe(PhotoFacts facts, int photos, double rms) =>
        JsonSerializer.SerializeToElement(
            new Dictionary<string, object?>
            {
                ["name"] = facts.Camera,
                ["focalLengthMillimeters"] = facts.FocalLengthMillimeters,
                ["focalLength35Millimeters"] = facts.FocalLength35Millimeters,
                ["photos"] = photos,
                ["rmsPx"] = Math.Round(rms, 4),
            }
        );

    /// <exception cref="InputException">Two photos for one profile were not taken by one lens.</exception>
    internal static void RequireSameLens(Photo photo, Photo first)
    {
        if (photo.Facts.Camera is { } own && first.Facts.Camera is { } other && own != other)
        {
            throw new InputException(
                "The photos are by two cameras",
                $"{photo.Name}: {own}; {first.Name}: {other}",
                "A profile holds for one camera: give photos by one alone."
            );
        }

        CheckFocal(first.Facts.FocalLength35Millimeters, photo.Facts.FocalLength35Millimeters, photo.Name, first.Name);
        CheckFocal(first.Facts.FocalLengthMillimeters, photo.Facts.FocalLengthMillimeters, photo.Name, first.Name);
    }

    private static void CheckFocal(double? expected, double? found, string photo, string other)
    {
        if (expected is { } a && found is { } b && a > 0 && Math.Abs(b / a - 1) > FocalTolerance)
        {
            throw new InputException(
                "The focal lengths differ: another lens of the camera, or another zoom",
                string.Create(CultureInfo.InvariantCulture, $"{photo} says {b:0.##} mm, {other} {a:0.##} mm"),
                "Take the photo with the lens and zoom of the profile (on a phone, the same 1x or 0.5x button), or make a profile for this one."
            );
        }
    }

    private static string? Text(JsonElement o, string name) =>
        o.TryGetProperty(name, out JsonElement v) && v.ValueKind == JsonValueKind.String ? v.GetString() : null;

    private static double? Number(JsonElement o, string name) =>
        o.TryGetProperty(name, out JsonElement v) && v.ValueKind == JsonValueKind.Number ? v.GetDouble() : null;
}
