using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>How a drafted top is spoilt before it is read again.</summary>
/// <param name="WobbleInches">Each point is moved by up to so much, in any direction.</param>
/// <param name="Missing">Part of the inner seams that is left out.</param>
/// <param name="False">Seams across patches that are added, as part of the inner seams.</param>
/// <param name="TurnDegrees">The whole is turned by so much, clockwise, with its outline; the map ends farther out.</param>
/// <param name="Cut">Part of the width and height that is cut off at each side, only where the map ends.</param>
public readonly record struct Spoiling(
    double WobbleInches,
    double Missing,
    double False,
    double TurnDegrees = 0,
    (double Left, double Top, double Right, double Bottom)? Cut = null
);

/// <summary>A drafted top as a finder would give it: without roles, blocks and names, points off their places, seams missing.</summary>
/// <param name="Map">What is read.</param>
/// <param name="Truth">The blocks that stand whole in it, moved as the points were; rows and columns from 0.</param>
public sealed record DraftedTop(QuiltMap Map, IReadOnlyList<Block> Truth)
{
    /// <summary>Spoils a draft.</summary>
    public static DraftedTop Spoil(QuiltMap draft, Spoiling how, Random random)
    {
        ArgumentNullException.ThrowIfNull(draft);
        ArgumentNullException.ThrowIfNull(random);
        (double w, double h) = (draft.Width.Inches, draft.Height.Inches);
        Box<ClothSpace> area = new(0, 0, w, h);
        if (how.Cut is { } cut)
        {
            area = new(w * cut.Left, h * cut.Top, w * (1 - cut.Right), h * (1 - cut.Bottom));
        }

        double turn = how.TurnDegrees * Math.PI / 180;
        (double sin, double cos) = Math.SinCos(turn);
        (double width, double height) = (
            area.Width * Math.Abs(cos) + area.Height * Math.Abs(sin),
            area.Width * Math.Abs(sin) + area.Height * Math.Abs(cos)
        );
        Dictionary<string, Point<ClothSpace>> moved = [];
        foreach (Junction j in draft.Junctions)
        {
            double r = how.WobbleInches * Math.Sqrt(random.NextDouble());
            double a = random.NextDouble() * 2 * Math.PI;
            bool onEdge = how.TurnDegrees == 0 && how.Cut is null;
            double dx = onEdge && (j.Place.X <= 0 || j.Place.X >= w) ? 0 : r * Math.Cos(a);
            double dy = onEdge && (j.Place.Y <= 0 || j.Place.Y >= h) ? 0 : r * Math.Sin(a);
            (double x, double y) = (j.Place.X + dx - area.Center.X, j.Place.Y + dy - area.Center.Y);
            moved[j.Id] = new(width / 2 + x * cos - y * sin, height / 2 + x * sin + y * cos);
        }

        List<SeamLine> lines = [];
        bool outlineIsSeam = how.TurnDegrees == 0 && how.Cut is null;
        foreach (Seam s in draft.Seams)
        {
            // The map's own outline is added anew, and where the top is cut off its outline is not seen.
            if (s.Role == SeamRole.Edge ? outlineIsSeam || how.Cut is not null : random.NextDouble() < how.Missing)
            {
                continue;
            }

            lines.Add(new(new(moved[s.From], moved[s.To], s.Bulge)));
        }

        int inner = draft.Seams.Count(s => s.Role != SeamRole.Edge);
        for (int i = 0; i < Math.Round(how.False * inner); i++)
        {
            Patch patch = draft.Patches[random.Next(draft.Patches.Count)];
            (string a, string b) = (
                patch.Seams[random.Next(patch.Seams.Count)],
                patch.Seams[random.Next(patch.Seams.Count)]
            );
            if (a != b)
            {
                lines.Add(new(new(On(a), On(b))));
            }
        }

        Box<ClothSpace> room = new(0, 0, width, height);
        List<SeamLine> inside = [.. lines.SelectMany(l => Clipped(l.Path, room)).Select(e => new SeamLine(e))];
        QuiltMap built = MapBuilder.Build(
            Length.FromInches(width),
            Length.FromInches(height),
            inside,
            [],
            Length.FromInches(0.02),
            outlineIsSeam ? EdgeKind.Seam : EdgeKind.Cut
        );
        Block[] whole =
        [
            .. draft
                .Blocks.Select(b => b with { Corners = [.. b.Corners.Select(Moved)], Patches = [] })
                .Where(b => b.Corners.All(room.Grown(0.3).Holds)),
        ];
        int row = whole.Length == 0 ? 0 : whole.Min(b => b.Row!.Value);
        int column = whole.Length == 0 ? 0 : whole.Min(b => b.Column!.Value);
        return new(
            Recolored(built, draft, p => Unmoved(p)),
            [.. whole.Select(b => b with { Row = b.Row - row, Column = b.Column - column })]
        );

        Point<ClothSpace> On(string seam)
        {
            Seam s = draft.SeamOf(seam);
            return new Edge<ClothSpace>(moved[s.From], moved[s.To], s.Bulge).PointAt(0.2 + 0.6 * random.NextDouble());
        }

        Point<ClothSpace> Moved(Point<ClothSpace> corner) =>
            moved[draft.Junctions.MinBy(j => j.Place.DistanceTo(corner))!.Id];

        Point<ClothSpace> Unmoved(Point<ClothSpace> p)
        {
            (double x, double y) = (p.X - width / 2, p.Y - height / 2);
            return new(area.Center.X + x * cos + y * sin, area.Center.Y - x * sin + y * cos);
        }
    }

    // Each patch takes the colour of the drafted patch that lies there.
    private static QuiltMap Recolored(
        QuiltMap built,
        QuiltMap draft,
        Func<Point<ClothSpace>, Point<ClothSpace>> unmoved
    )
    {
        if (draft.Patches.All(p => p.Color is null))
        {
            return built;
        }

        (NetTopologySuite.Geometries.Polygon Shape, string? Color)[] shapes =
        [
            .. draft.Patches.Select(p => (PatchFinder.ToPolygon(draft, p, 0.05), p.Color)),
        ];
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int i = 0; i < shapes.Length; i++)
        {
            tree.Insert(shapes[i].Shape.EnvelopeInternal, i);
        }

        return built.With(
            patches:
            [
                .. built.Patches.Select(p =>
                {
                    Point<ClothSpace> q = unmoved(PatchFinder.InteriorPoint(built, p));
                    NetTopologySuite.Geometries.Point point = new(q.X, q.Y);
                    int at = tree.Query(point.EnvelopeInternal)
                        .OrderBy(i => shapes[i].Shape.Distance(point))
                        .FirstOrDefault(-1);
                    return p with { Color = at < 0 ? null : shapes[at].Color };
                }),
            ]
        );
    }

    private static IEnumerable<Edge<ClothSpace>> Clipped(Edge<ClothSpace> e, Box<ClothSpace> room)
    {
        // Arcs that leave the map are left out; lines are cut.
        if (room.Grown(1e-9).Holds(e.From) && room.Grown(1e-9).Holds(e.To))
        {
            yield return e;
            yield break;
        }

        if (!e.IsLine)
        {
            yield break;
        }

        Vector<ClothSpace> d = e.To - e.From;
        (double t0, double t1) = (0, 1);
        foreach (
            (double step, double gap) in new[]
            {
                (-d.X, e.From.X - room.Left),
                (d.X, room.Right - e.From.X),
                (-d.Y, e.From.Y - room.Top),
                (d.Y, room.Bottom - e.From.Y),
            }
        )
        {
            if (step == 0 && gap < 0)
            {
                yield break;
            }

            if (step < 0)
            {
                t0 = Math.Max(t0, gap / step);
            }
            else if (step > 0)
            {
                t1 = Math.Min(t1, gap / step);
            }
        }

        if ((t1 - t0) * d.Norm > 0.1)
        {
            yield return new(e.From + d * t0, e.From + d * t1);
        }
    }
}
