using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Drafts of whole tops beyond what the library's drafting knows.</summary>
internal static class SceneTops
{
    /// <summary>The top with a border of squares round it, a piece of its own in each corner.</summary>
    /// <param name="top">The top inside.</param>
    /// <param name="width">Finished width of the border.</param>
    public static QuiltMap WithPiecedBorder(QuiltMap top, Length width)
    {
        ArgumentNullException.ThrowIfNull(top);
        double b = width.Inches;
        double w = top.Width.Inches;
        double h = top.Height.Inches;
        List<SeamLine> lines =
        [
            .. top.Seams.Select(s =>
            {
                Edge<ClothSpace> e = top.EdgeOf(s);
                return new SeamLine(new(Moved(e.From), Moved(e.To), e.Bulge));
            }),
        ];
        foreach (double x in new[] { b, b + w })
        {
            lines.Add(new(new(new(x, 0), new(x, b))));
            lines.Add(new(new(new(x, b + h), new(x, h + 2 * b))));
        }

        foreach (double y in new[] { b, b + h })
        {
            lines.Add(new(new(new(0, y), new(b, y))));
            lines.Add(new(new(new(b + w, y), new(w + 2 * b, y))));
        }

        int across = (int)Math.Round(w / b);
        int down = (int)Math.Round(h / b);
        for (int i = 1; i < across; i++)
        {
            double x = b + w * i / across;
            lines.Add(new(new(new(x, 0), new(x, b))));
            lines.Add(new(new(new(x, b + h), new(x, h + 2 * b))));
        }

        for (int i = 1; i < down; i++)
        {
            double y = b + h * i / down;
            lines.Add(new(new(new(0, y), new(b, y))));
            lines.Add(new(new(new(b + w, y), new(w + 2 * b, y))));
        }

        QuiltMap map = MapBuilder.Build(
            Length.FromInches(w + 2 * b),
            Length.FromInches(h + 2 * b),
            lines,
            [.. top.Blocks.Select(k => k with { Corners = [.. k.Corners.Select(Moved)], Patches = [] })],
            Length.FromInches(1e-4)
        );
        (NetTopologySuite.Geometries.Polygon Shape, SettingPart Part)[] inner =
        [
            .. top
                .Patches.Where(p => SettingPartField.PartOf(p) != SettingPart.Block)
                .Select(p => (PatchFinder.ToPolygon(top, p, 0.02), SettingPartField.PartOf(p))),
        ];
        return map.With(
            patches:
            [
                .. map.Patches.Select(p =>
                {
                    Point<ClothSpace> at = PatchFinder.InteriorPoint(map, p);
                    bool outside = at.X < b || at.Y < b || at.X > b + w || at.Y > b + h;
                    NetTopologySuite.Geometries.Point place = new(at.X - b, at.Y - b);
                    SettingPart part = outside
                        ? SettingPart.Border
                        : inner.FirstOrDefault(i => i.Shape.Covers(place), (null!, SettingPart.Block)).Part;
                    return SettingPartField.Tell(p, part);
                }),
            ]
        );

        Point<ClothSpace> Moved(Point<ClothSpace> p) => new(p.X + b, p.Y + b);
    }

    /// <summary>The finished side from 6 to 15 in at which the shortest seam is an inch, rounded up to what is usual.</summary>
    public static double UsualSide(BlockDraft block, double leastSeam = 1)
    {
        QuiltMap unit = BlockDrafting.Draft(block, Length.FromInches(1), 1, 1, Length.Zero);
        double shortest = unit.Seams.Min(s => unit.EdgeOf(s).Chord);
        double[] usual = [6, 8, 9, 10, 12, 14, 15];
        return usual.FirstOrDefault(u => u * shortest >= leastSeam, 15);
    }
}
