using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>Says in a few plain words what a design does.</summary>
internal sealed class DesignWords
{
    private readonly DesignSearch search;
    private readonly IReadOnlyList<Point<ClothSpace>> places;

    public DesignWords(DesignSearch search, IReadOnlyList<Point<ClothSpace>> places)
    {
        this.search = search;
        this.places = places;
    }

    /// <summary>For example "arcs along the corner squares, alike under quarter turns".</summary>
    public string Describe(Design design)
    {
        if (design.Lines.Count == 0)
        {
            return "the seams alone";
        }

        string kept = (design.Kept == design.Full, design.Kept, design.Turns) switch
        {
            (true, _, _) => "",
            (_, _, 4) => ", alike under quarter turns",
            (_, 4, _) => ", alike under two mirrors",
            (_, _, 2) => ", alike under a half turn only",
            (_, 2, _) => ", alike under one mirror only",
            _ => ", its quarters not alike",
        };
        if (!design.IsAlike && !design.IsHalfAPattern)
        {
            kept += ", like patches not all alike";
        }

        return Added(design) + kept;
    }

    /// <summary>What a route over the seams alone does.</summary>
    public static string SeamsAlone(int starts, double doubledInches) =>
        $"the seams alone; {Cost(starts, doubledInches)}";

    /// <summary>Starts and backtracking in words.</summary>
    public static string Cost(int starts, double doubledInches)
    {
        string threads = starts == 1 ? "one thread" : string.Create(CultureInfo.InvariantCulture, $"{starts} starts");
        return doubledInches > 1e-6
            ? $"{threads}, {Inches(doubledInches)} of backtracking"
            : $"{threads}, nothing stitched twice";
    }

    private static string Inches(double v) => $"{Length.FromInches(v).ToSixteenths()} in";

    private string Added(Design design)
    {
        if (design.Fills && design.Lines.All(l => l.Style == AddedStyle.AlongSide))
        {
            int patches = design.Lines.Select(l => l.Shape).Distinct().Count();
            return patches == search.Shapes.Count
                ? "arcs along every side of every patch"
                : "arcs along every side wherever they fit";
        }

        List<(string Verb, List<string> Names)> parts = [];
        foreach (
            IGrouping<(AddedStyle Style, string Name), AddedLine> g in design
                .Lines.GroupBy(l => (l.Style, NameOf(l.Shape)))
                .OrderBy(g => g.Key.Style)
                .ThenBy(g => g.Key.Item2, StringComparer.Ordinal)
        )
        {
            string verb = g.Key.Style switch
            {
                AddedStyle.AlongSide => "arcs along",
                AddedStyle.ArcAcross => "arcs across",
                AddedStyle.LineToCenter => "straight lines through the centres of",
                AddedStyle.LineToSide => "straight lines to the middle of a side of",
                _ => "straight lines across",
            };
            if (parts.Count == 0 || parts[^1].Verb != verb)
            {
                parts.Add((verb, []));
            }

            parts[^1].Names.Add(g.Key.Item2);
        }

        return Listed([.. parts.Select(p => $"{p.Verb} the {Listed(p.Names)}")]);
    }

    private static string Listed(List<string> parts) =>
        parts.Count == 1 ? parts[0] : $"{string.Join(", ", parts.SkipLast(1))} and {parts[^1]}";

    private string NameOf(int shape)
    {
        PatchShape s = search.Shapes[shape];
        return $"{Where(s, shape)}{ShapeName(s)}";
    }

    private string Where(PatchShape s, int shape)
    {
        if (!search.CellOf.TryGetValue(shape, out DesignCell? cell) || cell.Shapes.Count < 2)
        {
            return "";
        }

        bool onX = false;
        bool onY = false;
        bool corner = false;
        foreach (int v in s.Corners)
        {
            bool x = Math.Abs(Math.Abs(places[v].X - cell.Center.X) - cell.Width / 2) < 0.1;
            bool y = Math.Abs(Math.Abs(places[v].Y - cell.Center.Y) - cell.Height / 2) < 0.1;
            onX |= x;
            onY |= y;
            corner |= x && y;
        }

        return corner ? "corner "
            : onX || onY ? "outer "
            : s.Holds(cell.Center) ? "centre "
            : "inner ";
    }

    // Sewn squares are square to within a few hundredths of their side, and a few degrees.
    private string ShapeName(PatchShape s)
    {
        double[] sides = [.. s.Sides.Select(x => places[s.Corners[x.From]].DistanceTo(places[s.Corners[x.To]]))];
        bool equal = sides.Max() - sides.Min() < 0.06 * sides.Max();
        bool right = s.Angles.All(a => Math.Abs(a - Math.PI / 2) < 0.08);
        bool curved = s.Sides.Any(x => Math.Abs(x.RiseInside) > 0.02 * x.Chord);
        return sides.Length switch
        {
            2 => "petals",
            3 when curved => "slices",
            3 => "triangles",
            _ when curved => "patches",
            4 when right && equal => "squares",
            4 when right => "strips",
            4 when equal => "diamonds",
            8 => "octagons",
            _ => "patches",
        };
    }
}
