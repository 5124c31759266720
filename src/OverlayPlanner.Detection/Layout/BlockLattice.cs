using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>
/// Reads a map as equal blocks in rows and columns, with or without strips between them and an equal border round them.
/// </summary>
/// <remarks>
/// Every pair of long straight seams proposes a block, every third one a pitch. Among the proposals the shortest description
/// of the top wins (J. Rissanen, "Modeling by shortest data description", 1978): one block's seams and colours, plus what
/// each block does differently, plus what lies outside the blocks. Blocks may be turned and mirrored copies of each other.
/// Known limits: straight settings only; part blocks at the edge are not blocks.
/// </remarks>
internal static class BlockLattice
{
    private const double LeastCoverage = 0.72;
    private const double SameLineInches = 0.22;
    private const double SlantPerInch = 0.06;
    private const double SquareWithin = 0.04;
    private const double LeastBlockInches = 2;
    private const double PatternWithin = 0.035;
    private const double CostOfSeam = 8; // for each block side of seam length
    private const double CostOfColor = 0.5;
    private const double CostOfTurn = 1.2;
    private const double CostOfName = 3;
    private const double SameColor = 45; // RGB distance; light and shade over a top move a colour by less

    /// <summary>The blocks, in reading order; one block that is the whole map where nothing repeats.</summary>
    public static IReadOnlyList<Block> Find(QuiltMap map)
    {
        Edge<ClothSpace>[] lines = [.. map.Seams.Select(map.EdgeOf)];
        bool[] inner = [.. map.Seams.Select(s => s.Role != SeamRole.Edge)];
        if (!inner.Contains(true))
        {
            return [];
        }

        List<Axis> columns = AxesOf(lines, map.Width.Inches, map.Height.Inches, upright: true);
        List<Axis> rows = AxesOf(lines, map.Height.Inches, map.Width.Inches, upright: false);
        Patchwork patchwork = new(map);
        Reading? best = null;
        foreach (Axis c in columns)
        {
            foreach (Axis r in rows)
            {
                bool whole = c.Count == 1 && r.Count == 1;
                if (whole && (c.Start > 2 * SameLineInches || r.Start > 2 * SameLineInches))
                {
                    continue;
                }

                bool square = Math.Abs(c.Side - r.Side) <= SquareWithin * Math.Max(c.Side, r.Side);
                bool strips = c.Count == 1 || r.Count == 1 || Math.Abs(c.Gap - r.Gap) <= 2 * SameLineInches;
                bool borders = whole || Math.Abs(c.Start - r.Start) <= 2 * SameLineInches;
                if ((square || whole) && strips && borders && Read(lines, inner, patchwork, c, r) is Reading reading)
                {
                    best = best is null || reading.Cost < best.Cost - 1e-9 ? reading : best;
                }
            }
        }

        return best is null ? [] : BlocksOf(map, best);
    }

    private static List<Block> BlocksOf(QuiltMap map, Reading reading)
    {
        List<Block> blocks = [];
        for (int i = 0; i < reading.Cells.Count; i++)
        {
            Box<ClothSpace> box = reading.Cells[i];
            double reach = Math.Max(2 * SameLineInches, 0.03 * box.Width);
            Orientation how = reading.How is null ? default : reading.How[i];
            blocks.Add(
                new(
                    "b" + (i + 1).ToString(CultureInfo.InvariantCulture),
                    [
                        Corner(new(box.Left, box.Top)),
                        Corner(new(box.Right, box.Top)),
                        Corner(new(box.Right, box.Bottom)),
                        Corner(new(box.Left, box.Bottom)),
                    ]
                )
                {
                    Row = i / reading.Columns,
                    Column = i % reading.Columns,
                    Pattern = reading.Name,
                    Turn = how.Turn,
                    Mirror = how.Mirror,
                }
            );

            // Each block keeps its own measured corners.
            Point<ClothSpace> Corner(Point<ClothSpace> drafted)
            {
                Junction nearest = map.Junctions.MinBy(j => j.Place.DistanceTo(drafted))!;
                return nearest.Place.DistanceTo(drafted) <= reach ? nearest.Place : drafted;
            }
        }

        return blocks;
    }

    // Equal sections of one axis, bounded by lines that run nearly all the way across.
    private static List<Axis> AxesOf(Edge<ClothSpace>[] lines, double extent, double across, bool upright)
    {
        List<(double At, double Length)> pieces = [];
        foreach (Edge<ClothSpace> line in lines)
        {
            double along = upright ? Math.Abs(line.To.Y - line.From.Y) : Math.Abs(line.To.X - line.From.X);
            double off = upright ? Math.Abs(line.To.X - line.From.X) : Math.Abs(line.To.Y - line.From.Y);
            if (line.IsLine && off <= SlantPerInch * along)
            {
                pieces.Add((upright ? (line.From.X + line.To.X) / 2 : (line.From.Y + line.To.Y) / 2, along));
            }
        }

        pieces.Sort();
        List<double> stops = [];
        for (int i = 0; i < pieces.Count; )
        {
            int k = i;
            double length = 0;
            double moment = 0;
            while (k < pieces.Count && (k == i || pieces[k].At - pieces[k - 1].At <= SameLineInches))
            {
                length += pieces[k].Length;
                moment += pieces[k].Length * pieces[k].At;
                k++;
            }

            if (length >= LeastCoverage * across)
            {
                stops.Add(moment / length);
            }

            i = k;
        }

        List<Axis> axes = [];
        for (int a = 0; a < stops.Count; a++)
        {
            for (int b = a + 1; b < stops.Count; b++)
            {
                double side = stops[b] - stops[a];
                if (side < LeastBlockInches)
                {
                    continue;
                }

                // One block: only with the same border on both sides.
                if (Math.Abs(stops[a] - (extent - stops[b])) <= 2 * SameLineInches)
                {
                    axes.Add(new(stops[a], side, 0, [(stops[a], stops[b])]));
                }

                for (int c = b; c < stops.Count && stops[c] - stops[b] <= side * 0.6; c++)
                {
                    AddRepeats(axes, stops, stops[a], side, stops[c] - stops[a], extent);
                }
            }
        }

        return axes;
    }

    private static void AddRepeats(
        List<Axis> axes,
        List<double> stops,
        double start,
        double side,
        double pitch,
        double extent
    )
    {
        double slack = Math.Max(SameLineInches, 0.03 * side);
        List<(double, double)> sections = [];
        double at = start;
        while (NearestStop(at) is double from && NearestStop(from + side) is double to)
        {
            sections.Add((from, to));
            at = from + pitch;
            if (at > extent - side / 2)
            {
                break;
            }
        }

        if (sections.Count >= 2 && Math.Abs(start - (extent - sections[^1].Item2)) <= 2 * slack)
        {
            axes.Add(new(start, side, pitch - side, sections));
        }

        double? NearestStop(double x)
        {
            double nearest = stops.MinBy(s => Math.Abs(s - x));
            return Math.Abs(nearest - x) <= slack ? nearest : null;
        }
    }

    private static Reading? Read(Edge<ClothSpace>[] lines, bool[] inner, Patchwork patchwork, Axis columns, Axis rows)
    {
        List<Box<ClothSpace>> cells =
        [
            .. rows.Sections.SelectMany(r =>
                columns.Sections.Select(c => new Box<ClothSpace>(c.From, r.From, c.To, r.To))
            ),
        ];
        double slack = Math.Max(SameLineInches, 0.025 * columns.Side);
        CellPattern[] patterns = [.. cells.Select(c => CellPattern.Of(lines, c, slack))];
        bool whole = cells.Count == 1;

        // A block has a seam inside; squares alone are no blocks.
        if (!whole && patterns.Count(p => p.Length > 0.5) < 0.7 * patterns.Length)
        {
            return null;
        }

        bool square = Math.Abs(columns.Side - rows.Side) <= SquareWithin * Math.Max(columns.Side, rows.Side);
        (string Id, double Agreement, Orientation[] How)? name = square ? PatternNamer.Name(patterns) : null;
        (double cost, _) = CheapestReference(patterns, patchwork, cells, square);
        if (name is not null)
        {
            double drawn = patterns.Max(p => p.Length) * CostOfSeam;
            cost += CostOfName - Math.Min(drawn, cost);
            cost += patterns.Sum(p => (1 - name.Value.Agreement) * p.Length * CostOfSeam) + Colors(patchwork, cells);
            cost += name.Value.How.Count(h => h != name.Value.How[0]) * CostOfTurn;
        }

        double outside = 0;
        for (int i = 0; i < lines.Length; i++)
        {
            Point<ClothSpace> middle = lines[i].PointAt(0.5);
            if (inner[i] && !cells.Exists(c => c.Grown(slack).Holds(middle)))
            {
                outside += 0.5;
            }
        }

        return new(cost + outside, columns.Sections.Count, cells, name?.Id, name?.How);
    }

    private static (double Cost, int Reference) CheapestReference(
        CellPattern[] patterns,
        Patchwork patchwork,
        List<Box<ClothSpace>> cells,
        bool square
    )
    {
        double best = double.PositiveInfinity;
        int reference = 0;
        double colors = Colors(patchwork, cells);
        int step = Math.Max(1, patterns.Length / 4);
        for (int r = 0; r < patterns.Length; r += step)
        {
            CellPattern[] ways =
            [
                .. Orientation.All.Where(o => square || o.Turn % 2 == 0).Select(o => patterns[r].In(o)),
            ];
            double cost = patterns[r].Length * CostOfSeam + colors;
            for (int i = 0; i < patterns.Length && cost < best; i++)
            {
                if (i == r)
                {
                    continue;
                }

                double agreement = 0;
                int way = 0;
                for (int w = 0; w < ways.Length && agreement < 0.97; w++)
                {
                    double a = patterns[i].AgreementWith(ways[w], PatternWithin);
                    if (a > agreement + 0.01)
                    {
                        (agreement, way) = (a, w);
                    }
                }

                cost += (1 - agreement) * CostOfSeam * Math.Max(patterns[i].Length, patterns[r].Length);
                cost += way > 0 ? CostOfTurn : 0;
            }

            if (cost < best)
            {
                (best, reference) = (cost, r);
            }
        }

        return (best, reference);
    }

    // Colours of the first block, and of every other block what differs from it.
    private static double Colors(Patchwork patchwork, List<Box<ClothSpace>> cells)
    {
        const int Across = 8;
        double cost = 0;
        (double R, double G, double B)?[] first = Sampled(cells[0]);
        double perSample = CostOfColor * patchwork.PatchesIn(cells[0]) / (Across * Across);
        cost += CostOfColor * patchwork.PatchesIn(cells[0]);
        for (int i = 1; i < cells.Count; i++)
        {
            (double R, double G, double B)?[] own = Sampled(cells[i]);
            for (int k = 0; k < own.Length; k++)
            {
                cost += Differ(own[k], first[k]) ? perSample : 0;
            }
        }

        return cost;

        (double R, double G, double B)?[] Sampled(Box<ClothSpace> cell)
        {
            (double R, double G, double B)?[] samples = new (double R, double G, double B)?[Across * Across];
            for (int y = 0; y < Across; y++)
            {
                for (int x = 0; x < Across; x++)
                {
                    // A little off the middle: middles of eighths lie on seams of fine grids.
                    samples[y * Across + x] = patchwork.ColorAt(
                        new(cell.Left + cell.Width * (x + 0.43) / Across, cell.Top + cell.Height * (y + 0.46) / Across)
                    );
                }
            }

            return samples;
        }

        static bool Differ((double R, double G, double B)? a, (double R, double G, double B)? b) =>
            a is { } p
            && b is { } q
            && Math.Sqrt((p.R - q.R) * (p.R - q.R) + (p.G - q.G) * (p.G - q.G) + (p.B - q.B) * (p.B - q.B)) > SameColor;
    }

    private sealed record Axis(double Start, double Side, double Gap, List<(double From, double To)> Sections)
    {
        public int Count => Sections.Count;
    }

    private sealed record Reading(
        double Cost,
        int Columns,
        List<Box<ClothSpace>> Cells,
        string? Name,
        Orientation[]? How
    );

    /// <summary>Which colour lies where, on a grid of points over the map.</summary>
    private sealed class Patchwork
    {
        private const double StepInches = 0.2;
        private readonly int width;
        private readonly int height;
        private readonly (double R, double G, double B)?[] colors;
        private readonly Point<ClothSpace>[] middles;

        public Patchwork(QuiltMap map)
        {
            width = (int)Math.Ceiling(map.Width.Inches / StepInches);
            height = (int)Math.Ceiling(map.Height.Inches / StepInches);
            colors = new (double R, double G, double B)?[width * height];
            middles = new Point<ClothSpace>[map.Patches.Count];
            for (int i = 0; i < map.Patches.Count; i++)
            {
                Patch patch = map.Patches[i];
                NetTopologySuite.Geometries.Polygon shape = PatchFinder.ToPolygon(map, patch, 0.05);
                NetTopologySuite.Geometries.Point inside = shape.InteriorPoint;
                middles[i] = new(inside.X, inside.Y);
                if (patch.Color is not string color)
                {
                    continue;
                }

                (double, double, double) rgb = (Channel(color, 1), Channel(color, 3), Channel(color, 5));
                NetTopologySuite.Algorithm.Locate.IndexedPointInAreaLocator locator = new(shape);
                NetTopologySuite.Geometries.Envelope box = shape.EnvelopeInternal;
                for (int y = Index(box.MinY, height); y <= Index(box.MaxY, height); y++)
                {
                    for (int x = Index(box.MinX, width); x <= Index(box.MaxX, width); x++)
                    {
                        if (
                            locator.Locate(new((x + 0.5) * StepInches, (y + 0.5) * StepInches))
                            == NetTopologySuite.Geometries.Location.Interior
                        )
                        {
                            colors[y * width + x] = rgb;
                        }
                    }
                }
            }
        }

        public (double R, double G, double B)? ColorAt(Point<ClothSpace> p) =>
            colors[Index(p.Y, height) * width + Index(p.X, width)];

        public int PatchesIn(Box<ClothSpace> box) => Math.Max(1, middles.Count(box.Holds));

        private static int Index(double inches, int count) => Math.Clamp((int)(inches / StepInches), 0, count - 1);

        private static double Channel(string color, int at) =>
            int.Parse(color.AsSpan(at, 2), NumberStyles.HexNumber, CultureInfo.InvariantCulture);
    }
}
