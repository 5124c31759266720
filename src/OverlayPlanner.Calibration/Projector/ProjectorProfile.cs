using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A projector over the frame: its picture's size, and where it must draw for a point on the cloth.</summary>
/// <param name="Width">Projector pixels across.</param>
/// <param name="Height">Projector pixels down.</param>
/// <param name="ProjectorFromCloth">Cloth inches to projector pixels.</param>
public sealed record ProjectorProfile(int Width, int Height, Homography<ProjectorSpace, ClothSpace> ProjectorFromCloth)
{
    /// <summary>The file's format.</summary>
    public const string Format = "overlayplanner.projector";

    /// <summary>The newest version that this program reads and the one that it writes.</summary>
    public const int Version = 1;

    /// <summary>What the file says about what is left over the homography, kept as it is; or null.</summary>
    public JsonElement? Residual { get; init; }

    /// <summary>Fields of the file that this version does not know; written again.</summary>
    public IReadOnlyDictionary<string, JsonElement> Unknown { get; init; } = new Dictionary<string, JsonElement>();

    /// <summary>Reads a profile.</summary>
    /// <exception cref="InputException">It is no projector profile, of a later version, or its numbers can't be.</exception>
    public static ProjectorProfile Read(ReadOnlyMemory<byte> utf8, string name)
    {
        ProfileFile file = ProfileFile.Open(utf8, name, Format, Version);
        int width = file.Pixels("width");
        int height = file.Pixels("height");
        Homography<ProjectorSpace, ClothSpace> map = new(file.Numbers("projectorFromCloth", 9));
        if (map.Determinant == 0)
        {
            throw file.Wrong("projectorFromCloth", "a map that can be turned round");
        }

        return new(width, height, map) { Residual = file.Element("residual"), Unknown = file.Rest };
    }

    /// <summary>Writes the profile as UTF-8 JSON.</summary>
    public byte[] Write() =>
        ProfileFile.Write(
            Format,
            Version,
            json =>
            {
                json.WriteNumber("width", Width);
                json.WriteNumber("height", Height);
                json.WritePropertyName("projectorFromCloth");
                ProfileFile.WriteNumbers(json, ProjectorFromCloth.RowByRow);
                ProfileFile.WriteElement(json, "residual", Residual);
            },
            Unknown
        );
}
