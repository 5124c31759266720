using System.Text.Json;
using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>The draft of one traditional block.</summary>
/// <param name="Id">The name in lower case, apostrophes dropped, every other run of other characters a hyphen.</param>
/// <param name="Name">The name as the trade writes it.</param>
/// <param name="Grid">Cells across; 3.4142 for eight-point drafts, which lie on no square grid.</param>
/// <param name="Family">Drafting family.</param>
/// <param name="Note">A remark, or null.</param>
/// <param name="Patches">The ring of corners of each patch.</param>
public sealed record BlockDraft(
    string Id,
    string Name,
    double Grid,
    string Family,
    string? Note,
    IReadOnlyList<IReadOnlyList<DraftCorner>> Patches
)
{
    /// <summary>
    /// How dark each patch is in the usual colouring, in the order of <see cref="Patches"/>; empty where the draft does not say.
    /// </summary>
    public IReadOnlyList<PatchValue> Values { get; init; } = [];

    /// <summary>The sides of a patch in ring order, drafted to size.</summary>
    /// <param name="patch">Index in <see cref="Patches"/>.</param>
    /// <param name="topLeft">Where the block's top left corner lies.</param>
    /// <param name="side">Finished side of the block.</param>
    public IReadOnlyList<Edge<ClothSpace>> SidesOf(int patch, Point<ClothSpace> topLeft, Length side)
    {
        IReadOnlyList<DraftCorner> ring = Patches[patch];
        Edge<ClothSpace>[] sides = new Edge<ClothSpace>[ring.Count];
        for (int i = 0; i < sides.Length; i++)
        {
            sides[i] = new(At(ring[i]), At(ring[(i + 1) % ring.Count]), ring[i].Bulge);
        }

        return sides;

        Point<ClothSpace> At(DraftCorner c) => new(topLeft.X + c.X * side.Inches, topLeft.Y + c.Y * side.Inches);
    }
}

/// <summary>A corner of a drafted patch, and the side that leaves it for the ring's next corner.</summary>
/// <param name="X">In block sides, 0 left to 1 right.</param>
/// <param name="Y">In block sides, 0 top to 1 bottom.</param>
/// <param name="Bulge">Of the side that leaves here: 0 for a line; sign and measure as in <see cref="Edge{TSpace}"/>.</param>
public readonly record struct DraftCorner(double X, double Y, double Bulge = 0);

/// <summary>How dark a patch is beside its neighbours; a block's figure shows by it whatever the colours.</summary>
public enum PatchValue
{
    /// <summary>Ground.</summary>
    Light,

    /// <summary>Between the two.</summary>
    Medium,

    /// <summary>Figure.</summary>
    Dark,
}

/// <summary>The built-in traditional blocks.</summary>
public static partial class BlockLibrary
{
    private static readonly Lazy<IReadOnlyList<BlockDraft>> Loaded = new(Load);

    /// <summary>All blocks, in the order of the data files.</summary>
    public static IReadOnlyList<BlockDraft> All => Loaded.Value;

    /// <summary>The id that belongs to a name.</summary>
    public static string IdOf(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        string plain = name.ToLowerInvariant()
            .Replace("'", "", StringComparison.Ordinal)
            .Replace("’", "", StringComparison.Ordinal);
        return Others().Replace(plain, "-").Trim('-');
    }

    /// <summary>The block with this id or name.</summary>
    /// <exception cref="InputException">There is none; names the nearest ones.</exception>
    public static BlockDraft Find(string idOrName)
    {
        ArgumentNullException.ThrowIfNull(idOrName);
        string id = IdOf(idOrName);
        return All.FirstOrDefault(b => b.Id == id)
            ?? throw new InputException(
                $"There is no block \"{idOrName}\" in the library",
                "NAME",
                $"Nearest: {string.Join(", ", All.OrderBy(b => EditDistance(b.Id, id)).Take(3).Select(b => b.Id))}. See: blocks list."
            );
    }

    private static IReadOnlyList<BlockDraft> Load() =>
        [.. Read("blocks.json", Unrounded), .. Read("blocks-more.json", stored => stored)];

    private static IEnumerable<BlockDraft> Read(string resource, Func<double, double> eightPointCoordinate)
    {
        using Stream stream = typeof(BlockLibrary).Assembly.GetManifestResourceStream(resource)!;
        using JsonDocument document = JsonDocument.Parse(stream);
        foreach (JsonElement block in document.RootElement.EnumerateArray())
        {
            yield return Read(block, eightPointCoordinate);
        }
    }

    private static BlockDraft Read(JsonElement e, Func<double, double> eightPointCoordinate)
    {
        string name = e.GetProperty("name").GetString()!;
        double grid = e.GetProperty("grid").GetDouble();
        bool eightPoint = grid != Math.Floor(grid);
        double whole = eightPoint ? 2 + Math.Sqrt(2) : grid;
        return new(
            IdOf(name),
            name,
            grid,
            e.GetProperty("family").GetString()!,
            e.TryGetProperty("note", out JsonElement note) ? note.GetString() : null,
            [
                .. e.GetProperty("patches")
                    .EnumerateArray()
                    .Select(p => (IReadOnlyList<DraftCorner>)[.. p.EnumerateArray().Select(Corner)]),
            ]
        )
        {
            Values = e.TryGetProperty("values", out JsonElement values)
                ? [.. values.EnumerateArray().Select(v => (PatchValue)v.GetInt32())]
                : [],
        };

        DraftCorner Corner(JsonElement c) =>
            new(Coordinate(c[0]), Coordinate(c[1]), c.GetArrayLength() > 2 ? c[2].GetDouble() : 0);

        double Coordinate(JsonElement c)
        {
            double v = c.GetDouble();
            return (eightPoint ? eightPointCoordinate(v) : v) / whole;
        }
    }

    // The first file's eight-point drafts are stored to four places; their coordinates are (a + b√2) / 2 with small whole a, b.
    private static double Unrounded(double v)
    {
        for (int b = -8; b <= 8; b++)
        {
            double a = Math.Round(2 * v - b * Math.Sqrt(2));
            double exact = (a + b * Math.Sqrt(2)) / 2;
            if (Math.Abs(a) <= 16 && Math.Abs(exact - v) < 1.01e-4)
            {
                return exact;
            }
        }

        return v;
    }

    private static int EditDistance(string a, string b)
    {
        int[] row = [.. Enumerable.Range(0, b.Length + 1)];
        for (int i = 1; i <= a.Length; i++)
        {
            int diagonal = row[0];
            row[0] = i;
            for (int j = 1; j <= b.Length; j++)
            {
                int cost = Math.Min(Math.Min(row[j], row[j - 1]) + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1));
                diagonal = row[j];
                row[j] = cost;
            }
        }

        return row[b.Length];
    }

    [GeneratedRegex("[^\\p{L}\\p{Nd}]+")]
    private static partial Regex Others();
}
