using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A card and the place of its middle on the cloth.</summary>
/// <param name="Number">The number printed on it.</param>
/// <param name="At">Its middle.</param>
public sealed record KnownCard(int Number, Point<ClothSpace> At)
{
    /// <summary>A list of cards as profiles and quilt maps hold it.</summary>
    public static JsonElement ToJson(IEnumerable<KnownCard> cards) =>
        JsonSerializer.SerializeToElement(
            cards.Select(c => new Dictionary<string, double>
            {
                ["number"] = c.Number,
                ["x"] = c.At.X,
                ["y"] = c.At.Y,
            })
        );

    /// <summary>The cards of such a list; entries that are no cards are passed over.</summary>
    public static IReadOnlyList<KnownCard> FromJson(JsonElement? list) =>
        list is not { ValueKind: JsonValueKind.Array } array
            ? []
            :
            [
                .. array
                    .EnumerateArray()
                    .Where(e =>
                        e.ValueKind == JsonValueKind.Object
                        && ValueOf(e, "number") is not null
                        && ValueOf(e, "x") is not null
                        && ValueOf(e, "y") is not null
                    )
                    .Select(e => new KnownCard(
                        (int)ValueOf(e, "number")!.Value,
                        new(ValueOf(e, "x")!.Value, ValueOf(e, "y")!.Value)
                    )),
            ];

    private static double? ValueOf(JsonElement e, string field) =>
        e.TryGetProperty(field, out JsonElement v) && v.ValueKind == JsonValueKind.Number ? v.GetDouble() : null;
}

/// <summary>A projector over the frame: its picture's size, and where it must draw for a point on the cloth.</summary>
/// <param name="Width">Projector pixels across.</param>
/// <param name="Height">Projector pixels down.</param>
/// <param name="ProjectorFromCloth">Cloth inches to projector pixels, before the bend.</param>
public sealed record ProjectorProfile(int Width, int Height, Homography<ProjectorSpace, ClothSpace> ProjectorFromCloth)
    : IMap<ProjectorSpace, ClothSpace>
{
    /// <summary>The file's format.</summary>
    public const string Format = "overlayplanner.projector";

    /// <summary>The newest version that this program reads and the one that it writes.</summary>
    public const int Version = 1;

    /// <summary>What the file says about what is left over the homography, kept as it is; or null.</summary>
    public JsonElement? Residual { get; init; }

    /// <summary>What <see cref="Residual"/> adds to the homography; null where it adds nothing.</summary>
    public ProjectorBend? Bend { get; init; }

    /// <summary>Cards that lay on the cloth when the projector was calibrated; they carry its inches to another photo.</summary>
    public IReadOnlyList<KnownCard> Cards { get; init; } = [];

    /// <summary>Fields of the file that this version does not know; written again.</summary>
    public IReadOnlyDictionary<string, JsonElement> Unknown { get; init; } = new Dictionary<string, JsonElement>();

    /// <summary>The pixel whose light falls on a cloth point.</summary>
    public Point<ProjectorSpace> Apply(Point<ClothSpace> point)
    {
        Point<ProjectorSpace> p = ProjectorFromCloth.Apply(point);
        return Bend?.Apply(p) ?? p;
    }

    /// <summary>The cloth point on which a pixel's light falls.</summary>
    public Point<ClothSpace> ClothOf(Point<ProjectorSpace> pixel) =>
        ProjectorFromCloth.Inverse().Apply(Bend?.Straighten(pixel) ?? pixel);

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

        JsonElement? residual = file.Element("residual");
        return new(width, height, map)
        {
            Residual = residual,
            Bend = ProjectorBend.FromJson(residual, name),
            Cards = KnownCard.FromJson(file.Element("cards")),
            Unknown = file.Rest,
        };
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
                ProfileFile.WriteElement(json, "residual", Bend is null ? Residual : Bend.ToJson());
                if (Cards.Count > 0)
                {
                    ProfileFile.WriteElement(json, "cards", KnownCard.ToJson(Cards));
                }
            },
            Unknown
        );
}
