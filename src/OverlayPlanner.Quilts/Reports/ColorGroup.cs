using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>Patches of one colour.</summary>
/// <param name="Name">Plain words, dark blue; numbered where two groups have the same.</param>
/// <param name="Color">Mean colour as <c>#rrggbb</c>.</param>
/// <param name="Patches">Ids.</param>
/// <param name="Area">Finished area together, square inches, with its error.</param>
public sealed record ColorGroup(string Name, string Color, IReadOnlyList<string> Patches, Measured Area)
{
    // Light and shade move one cloth's colour by less over a top, and cloths that a quilter would call two differ by more
    // (common practice, no source).
    private const double OneColor = 15;
    private const double Flatness = 0.01;

    /// <summary>The map's patches by colour, the largest area first; patches without a colour are left out.</summary>
    /// <remarks>Clusters in L*a*b*, weighted by area: leaders first, then Lloyd's rounds (S. P. Lloyd, 1982). O(patches × groups).</remarks>
    public static IReadOnlyList<ColorGroup> Of(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        List<Piece> pieces = [];
        foreach (Patch p in map.Patches)
        {
            if (LabColor.Parse(p.Color) is { } color)
            {
                pieces.Add(new(p, color, AreaOf(map, p)));
            }
        }

        pieces.Sort((a, b) => b.Area.Value.CompareTo(a.Area.Value));
        List<LabColor> centers = [];
        foreach (Piece p in pieces.Where(p => centers.TrueForAll(c => c.DistanceTo(p.Color) > OneColor)))
        {
            centers.Add(p.Color);
        }

        List<List<Piece>> groups = [];
        for (int round = 0; round < 8; round++)
        {
            groups = Assign(pieces, centers);
            centers = Merge([.. groups.Select(Center)]);
        }

        groups = Assign(pieces, centers);
        Dictionary<string, int> used = [];
        List<ColorGroup> result = [];
        foreach (List<Piece> g in groups.OrderByDescending(g => g.Sum(p => p.Area.Value)))
        {
            string name = NameOf(Center(g));
            used[name] = used.GetValueOrDefault(name) + 1;
            result.Add(
                new(
                    used[name] == 1 ? name : string.Create(CultureInfo.InvariantCulture, $"{name} {used[name]}"),
                    Hex(g),
                    [.. g.Select(p => p.Patch.Id)],
                    new(g.Sum(p => p.Area.Value), Math.Sqrt(g.Sum(p => p.Area.Sigma * p.Area.Sigma)))
                )
            );
        }

        return result;
    }

    /// <summary>A colour in plain words.</summary>
    public static string NameOf(LabColor color)
    {
        (double l, double c, double h) = (color.L, color.Chroma, color.Hue);
        if (c < 8)
        {
            return l > 90 ? "white"
                : l > 68 ? "light grey"
                : l > 42 ? "grey"
                : l > 24 ? "dark grey"
                : "black";
        }

        if (l < 14 && c < 16)
        {
            return "black";
        }

        if (h is >= 45 and < 112)
        {
            if (l > 80 && c < 32)
            {
                return "cream";
            }

            if (c < 34 && l > 55)
            {
                return "tan";
            }

            if (l <= 50 || c < 34)
            {
                return l < 32 ? "dark brown" : "brown";
            }
        }

        string hue = h switch
        {
            < 15 => l > 60 ? "pink" : "red",
            < 45 => l > 68 ? "pink" : "red",
            < 72 => "orange",
            < 105 => "yellow",
            < 125 => "yellow green",
            < 178 => "green",
            < 228 => "blue green",
            < 298 => "blue",
            < 332 => "purple",
            < 352 => "pink",
            _ => l > 60 ? "pink" : "red",
        };
        return l > 70 && hue is not "yellow" and not "orange" ? "light " + hue
            : l < 35 ? "dark " + hue
            : hue;
    }

    private static List<List<Piece>> Assign(List<Piece> pieces, List<LabColor> centers)
    {
        List<List<Piece>> groups = [.. centers.Select(_ => new List<Piece>())];
        foreach (Piece p in pieces)
        {
            groups[Enumerable.Range(0, centers.Count).MinBy(i => centers[i].DistanceTo(p.Color))].Add(p);
        }

        groups.RemoveAll(g => g.Count == 0);
        return groups;
    }

    private static List<LabColor> Merge(List<LabColor> centers)
    {
        List<LabColor> kept = [];
        foreach (LabColor c in centers.Where(c => kept.TrueForAll(k => k.DistanceTo(c) > OneColor * 0.8)))
        {
            kept.Add(c);
        }

        return kept;
    }

    private static LabColor Center(List<Piece> group)
    {
        double all = group.Sum(p => p.Area.Value);
        return new(
            group.Sum(p => p.Area.Value * p.Color.L) / all,
            group.Sum(p => p.Area.Value * p.Color.A) / all,
            group.Sum(p => p.Area.Value * p.Color.B) / all
        );
    }

    private static string Hex(List<Piece> group)
    {
        double all = group.Sum(p => p.Area.Value);
        int Channel(int at) =>
            (int)
                Math.Round(
                    group.Sum(p =>
                        p.Area.Value
                        * int.Parse(
                            p.Patch.Color.AsSpan(at, 2),
                            NumberStyles.AllowHexSpecifier,
                            CultureInfo.InvariantCulture
                        )
                    ) / all
                );
        return string.Create(CultureInfo.InvariantCulture, $"#{Channel(1):x2}{Channel(3):x2}{Channel(5):x2}");
    }

    // By the shoelace formula a corner moves the area by half of what lies between its neighbours.
    private static Measured AreaOf(QuiltMap map, Patch patch)
    {
        double area = Math.Max(PatchFinder.ToPolygon(map, patch, Flatness).Area, 1e-9);
        double variance = 0;
        foreach (IReadOnlyList<string> ring in patch.Holes.Prepend(patch.Seams))
        {
            IReadOnlyList<Edge<ClothSpace>> edges = PatchFinder.RingOf(map, ring);
            for (int i = 0; i < edges.Count; i++)
            {
                Seam seam = map.SeamOf(ring[i]);
                Junction start =
                    map.JunctionOf(seam.From).Place == edges[i].From
                        ? map.JunctionOf(seam.From)
                        : map.JunctionOf(seam.To);
                double between = edges[(i + edges.Count - 1) % edges.Count].From.DistanceTo(edges[i].To);
                variance += Math.Pow(between / 2 * start.At.Sigma.Inches, 2);
            }
        }

        return new(area, Math.Sqrt(variance));
    }

    private sealed record Piece(Patch Patch, LabColor Color, Measured Area);
}
