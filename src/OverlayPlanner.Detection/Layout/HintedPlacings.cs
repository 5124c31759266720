using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Lattices that the user's words propose, where the seams alone might not.</summary>
internal static class HintedPlacings
{
    // A corner that the user touched may be off by so much.
    private const double CornerInches = 0.75;
    private const double CornerPart = 0.08;

    /// <summary>True where the placing is what the user said.</summary>
    public static bool Fits(LatticePlacing placing, LatticeHints hints)
    {
        if (hints.Lattice is null && hints.BlockCorners is not { Count: 4 })
        {
            return false;
        }

        return (hints.Lattice is not { } told || placing.Counted == told)
            && (hints.BlockCorners is not { Count: 4 } corners || Holds(placing, corners));
    }

    /// <summary>True where one of the blocks has these corners.</summary>
    public static bool Holds(LatticePlacing placing, IReadOnlyList<Point<ClothSpace>> corners)
    {
        double side = new CellFrame(corners).Side;
        double reach = Math.Max(CornerInches, CornerPart * side);
        return placing.Cells.Any(c =>
            Enumerable.Range(0, 4).All(i => c.Corners[i].DistanceTo(corners[i]) <= reach)
        );
    }

    /// <summary>The lattices through the corners that were said, and those of so many rows and columns.</summary>
    public static IEnumerable<LatticePlacing> Of(QuiltMap map, LatticeHints hints)
    {
        if (hints.BlockCorners is { Count: 4 } corners)
        {
            foreach (LatticePlacing placing in Through(map, corners))
            {
                yield return placing;
            }
        }

        if (hints.Lattice is { Rows: > 0, Columns: > 0 } told && (long)told.Rows * told.Columns <= 2500)
        {
            foreach (LatticePlacing placing in Divided(map, told.Rows, told.Columns))
            {
                yield return placing;
            }
        }
    }

    private static IEnumerable<LatticePlacing> Through(QuiltMap map, IReadOnlyList<Point<ClothSpace>> corners)
    {
        Vector<ClothSpace> across = corners[1] - corners[0] + (corners[2] - corners[3]);
        Vector<ClothSpace> down = corners[3] - corners[0] + (corners[2] - corners[1]);
        if (!(across.Norm > 1) || !(down.Norm > 1) || !(across.Cross(down) > 0))
        {
            yield break;
        }

        LatticeView view = new(map, Math.Atan2(across.Y, across.X));
        (double u0, double v0) = view.ToView(Mean(corners[0], corners[3]));
        (double u1, _) = view.ToView(Mean(corners[1], corners[2]));
        (_, double v) = view.ToView(Mean(corners[0], corners[1]));
        (_, double v1) = view.ToView(Mean(corners[3], corners[2]));
        v0 = v;
        double[] gaps =
        [
            0,
            .. view.UStops.Select(s => s.At - u1).Where(g => g > 0.4 && g < 0.65 * (u1 - u0)),
            .. view.VStops.Select(s => s.At - v1).Where(g => g > 0.4 && g < 0.65 * (v1 - v0)),
        ];
        foreach (double gap in gaps.Select(g => Math.Round(g, 2)).Distinct())
        {
            SeamComb? us = SeamComb.LeadOn(view.UStops, u0, u1 - u0, gap, view.URange, leastScore: 0);
            SeamComb? vs = SeamComb.LeadOn(view.VStops, v0, v1 - v0, gap, view.VRange, leastScore: 0);
            if (us is not null && vs is not null && LatticePlacer.Place(view, us, vs, fewest: 1) is { } placing)
            {
                yield return placing;
            }
        }

        // The block alone, whatever lies round it.
        yield return new(
            view,
            new(u1 - u0, 0, [(u0, u1)], 1),
            new(v1 - v0, 0, [(v0, v1)], 1),
            1,
            1,
            [new(0, 0, corners, 1)]
        );
    }

    // The map, or what lies within a frame of long lines, divided into so many equal cells.
    private static IEnumerable<LatticePlacing> Divided(QuiltMap map, int rows, int columns)
    {
        const double LeastSupport = 0.45;
        const double SquareWithin = 0.08;
        LatticeView view = new(map, 0);
        double[] us = Frame(view.UStops, view.URange);
        double[] vs = Frame(view.VStops, view.VRange);
        foreach ((double u0, double u1) in Pairs(us, view.URange))
        {
            foreach ((double v0, double v1) in Pairs(vs, view.VRange))
            {
                double side = (u1 - u0) / columns;
                if (Math.Abs(side - (v1 - v0) / rows) > SquareWithin * side || side < 1)
                {
                    continue;
                }

                SeamComb? u = SeamComb.LeadOn(view.UStops, u0, side, 0, (u0, u1), leastScore: 0);
                SeamComb? v = SeamComb.LeadOn(view.VStops, v0, (v1 - v0) / rows, 0, (v0, v1), leastScore: 0);
                if (
                    u is not null
                    && v is not null
                    && LatticePlacer.Place(view, u, v, fewest: 1) is { } placing
                    && placing.Rows == rows
                    && placing.Columns == columns
                    && placing.Cells.Average(c => c.Support) >= LeastSupport
                )
                {
                    yield return placing;
                }
            }
        }

        static double[] Frame(IReadOnlyList<SeamStop> stops, (double From, double To) range) =>
            [
                range.From,
                .. stops.Where(s => s.Cover >= 0.5).Select(s => s.At),
                range.To,
            ];

        static IEnumerable<(double From, double To)> Pairs(double[] at, (double From, double To) range) =>
            at.Where(a => a < range.From + 0.3 * (range.To - range.From))
                .SelectMany(_ => at.Where(b => b > range.To - 0.3 * (range.To - range.From)), (a, b) => (a, b));
    }

    private static Point<ClothSpace> Mean(Point<ClothSpace> a, Point<ClothSpace> b) => a.Toward(b, 0.5);
}
