using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>How long the description of a top is that a placing of blocks gives, counted in seams.</summary>
/// <remarks>
/// The shortest description wins (J. Rissanen, "Modeling by shortest data description", 1978): each pattern once, by its seams
/// or by its name; of each block what it does differently; which block lies where, where that is no regular change; the sides
/// that have no seam; the seams outside the blocks.
/// </remarks>
internal sealed class LatticeScorer
{
    private const double CostOfLattice = 4;
    private const double CostOfTurnedLattice = 2;
    private const double CostOfName = 3;
    private const double CostOfKind = 1.5;
    private const double CostOfTurn = 1.2;
    private const double CostOfDifference = 0.7; // for each seam's length that one has and the other has not
    private const double CostOfMissingSide = 0.5;
    private const double CostOfColor = 0.5;
    private const double MostPlain = 0.3;

    // A grid of squares falls into blocks by its colours alone: most of a block's must come back in the next.
    private const double MostStrangeColors = 0.4;
    private const double WobbleInches = 0.16;

    private readonly PointGrid grid;
    private readonly Lazy<Patchwork> patchwork;
    private readonly PatternNamer namer;
    private readonly bool[] inner;
    private readonly QuiltMap map;
    private readonly int[] borderLineOf;

    public LatticeScorer(QuiltMap map, PatternNamer namer)
    {
        this.map = map;
        this.namer = namer;
        grid = new(map);
        patchwork = new(() => new(map));
        inner = [.. map.Seams.Select(s => s.Role != SeamRole.Edge)];
        borderLineOf = FindBorderLines();
    }

    /// <summary>The map's points and seams by place.</summary>
    public PointGrid Grid => grid;

    /// <summary>Reads a placing; null where it is no setting of blocks.</summary>
    /// <param name="placing">Where the blocks stand.</param>
    /// <param name="mostLooked">At most so many blocks are looked at, the rest counted like them.</param>
    /// <param name="limit">Readings that cost more are of no use.</param>
    public LatticeReading? Read(LatticePlacing placing, int mostLooked, double limit = double.PositiveInfinity)
    {
        bool single = placing.Cells.Count == 1;
        double cost = single ? 0 : CostOfLattice;
        cost += placing.View is { IsOnPoint: true } ? CostOfTurnedLattice : 0;
        cost += placing.Cells.Sum(c => (1 - c.Support) * 4 * CostOfMissingSide);
        cost += placing.View is null ? 0 : Outside(placing);
        if (cost >= limit)
        {
            return null;
        }

        List<int> looked = Looked(placing.Cells.Count, mostLooked);
        double scale = (double)placing.Cells.Count / looked.Count;
        double side = placing.Cells.Average(c => c.Frame.Side);
        double slack = Math.Max(0.22, 0.025 * side);
        IReadOnlyList<Point<ClothSpace>>[] corners = [.. looked.Select(i => CornersOf(placing, i, side))];
        CellPattern[] patterns =
        [
            .. corners.Select(c => CellPattern.Of(grid.LinesNear(c), new(c), slack)),
        ];
        if (!single && !IsSetting(placing, looked, patterns))
        {
            return null;
        }

        double within = Math.Max(PatternNamer.Within, WobbleInches / side);
        List<Kind> kinds = KindsOf(patterns, within);
        double arrangement = ArrangementOf(placing, looked, kinds);
        cost += arrangement * scale;
        List<LatticeKind> named = [];
        foreach (Kind kind in kinds)
        {
            CellPattern first = patterns[kind.Members[0].Cell];
            PatternName? name = first.IsPlain
                ? null
                : namer.Name([.. kind.Members.Select(m => patterns[m.Cell])], within);
            double drawn = first.Seams + kind.Differences * scale;
            if (name is not null)
            {
                double off = kind.Members.Sum(m => (1 - name.Agreement) * patterns[m.Cell].Seams * 2 * CostOfDifference);
                drawn = Math.Min(drawn, CostOfName + off * scale);
            }

            cost += drawn + (kinds.Count > 1 ? CostOfKind : 0);
            named.Add(new([.. kind.Members.Select(m => (looked[m.Cell], m.How))], name));
        }

        double? colors = Colors(placing, kinds, patterns, corners, scale, single);
        return colors is double strange && cost + strange < limit
            ? new(placing, cost + strange, named)
            : null;
    }

    /// <summary>Names each cell that its kind leaves without a name, and gives all their own names and ways.</summary>
    public PatternName?[] NamesOf(LatticeReading reading)
    {
        PatternName?[] names = new PatternName?[reading.Placing.Cells.Count];
        foreach (LatticeKind kind in reading.Kinds)
        {
            for (int m = 0; m < kind.Members.Count; m++)
            {
                names[kind.Members[m].Cell] = kind.Name is { } name ? name with { How = [name.How[m]] } : null;
            }
        }

        double side = reading.Placing.Cells.Average(c => c.Frame.Side);
        double slack = Math.Max(0.22, 0.025 * side);
        double within = Math.Max(PatternNamer.Within, WobbleInches / side);
        for (int i = 0; i < names.Length; i++)
        {
            if (names[i] is null)
            {
                IReadOnlyList<Point<ClothSpace>> c = CornersOf(reading.Placing, i, side);
                names[i] = namer.Name([CellPattern.Of(grid.LinesNear(c), new(c), slack)], within);
            }
        }

        return names;
    }

    /// <summary>A block's own corners.</summary>
    public IReadOnlyList<Point<ClothSpace>> CornersOf(LatticePlacing placing, int cell, double side) =>
        placing.View is { } view
            ? LatticePlacer.Measured(view, grid, placing.Cells[cell].Corners, side)
            : placing.Cells[cell].Corners;

    // Spread evenly, in no step that a setting has.
    private static List<int> Looked(int cells, int most) =>
        cells <= most
            ? [.. Enumerable.Range(0, cells)]
            :
            [
                .. Enumerable
                    .Range(0, most)
                    .Select(i => (int)((i * 0.6180339887498949 - Math.Floor(i * 0.6180339887498949)) * cells))
                    .Distinct()
                    .Order(),
            ];

    // Squares alone are no blocks; plain ones may stand between others in turn, or be few.
    private static bool IsSetting(LatticePlacing placing, List<int> looked, CellPattern[] patterns)
    {
        int[] plain = new int[2];
        int[] all = new int[2];
        for (int i = 0; i < looked.Count; i++)
        {
            int parity = ParityOf(placing, placing.Cells[looked[i]]);
            all[parity]++;
            plain[parity] += patterns[i].IsPlain ? 1 : 0;
        }

        double part = (double)(plain[0] + plain[1]) / looked.Count;
        if (part <= MostPlain)
        {
            return true;
        }

        return all[0] > 0
            && all[1] > 0
            && Math.Max((double)plain[0] / all[0], (double)plain[1] / all[1]) >= 0.7
            && Math.Min((double)plain[0] / all[0], (double)plain[1] / all[1]) <= 0.35;
    }

    private static int ParityOf(LatticePlacing placing, LatticeCell cell) =>
        placing.View is { IsOnPoint: true } ? cell.Row & 1 : (cell.Row + cell.Column) & 1;

    private List<Kind> KindsOf(CellPattern[] patterns, double within)
    {
        List<Kind> kinds = [];
        for (int i = 0; i < patterns.Length; i++)
        {
            Kind? best = null;
            double least = patterns[i].IsPlain ? 1 : Math.Max(1.5, 0.75 * patterns[i].Seams);
            double differences = 0;
            Orientation how = default;
            foreach (Kind kind in kinds)
            {
                CellPattern first = patterns[kind.Members[0].Cell];
                if (Math.Abs(first.Length - patterns[i].Length) > 0.5 * Math.Max(first.Length, patterns[i].Length) + 0.5)
                {
                    continue;
                }

                double marks = Math.Max(4, (double)first.Count / Math.Max(1, first.Seams));
                foreach (Orientation way in Orientation.All)
                {
                    CellPattern turned = first.In(way);
                    double differ =
                        (patterns[i].Missing(turned, within) + turned.Missing(patterns[i], within))
                        / marks
                        * CostOfDifference;
                    double here = differ + (way == default ? 0 : 0.3 * CostOfTurn);
                    if (here < least)
                    {
                        (least, best, how, differences) = (here, kind, way, differ);
                    }
                }
            }

            if (best is null)
            {
                best = new();
                kinds.Add(best);
                (how, differences) = (default, 0);
            }

            best.Members.Add((i, how));
            best.Differences += differences;
        }

        return kinds;
    }

    // All alike, or two kinds in turn: whichever leaves less to say.
    private static double ArrangementOf(LatticePlacing placing, List<int> looked, List<Kind> kinds)
    {
        Dictionary<int, (int Kind, Orientation How)> labels = [];
        for (int k = 0; k < kinds.Count; k++)
        {
            foreach ((int cell, Orientation how) in kinds[k].Members)
            {
                labels[cell] = (k, how);
            }
        }

        double costOfKind = CostOfKind + Math.Log2(Math.Max(1, kinds.Count));
        double alike = Deviating([.. labels.Values]);
        double inTurn = 2;
        for (int parity = 0; parity < 2; parity++)
        {
            inTurn += Deviating(
                [
                    .. labels
                        .Where(l => ParityOf(placing, placing.Cells[looked[l.Key]]) == parity)
                        .Select(l => l.Value),
                ]
            );
        }

        return Math.Min(alike, inTurn);

        double Deviating((int Kind, Orientation How)[] own)
        {
            if (own.Length == 0)
            {
                return 0;
            }

            (int Kind, Orientation How) usual = own.GroupBy(l => l).MaxBy(g => g.Count())!.Key;
            return own.Sum(l =>
                l == usual ? 0
                : l.Kind == usual.Kind ? CostOfTurn
                : costOfKind
            );
        }
    }

    // Null where a grid of squares does not fall into blocks by its colours.
    private double? Colors(
        LatticePlacing placing,
        List<Kind> kinds,
        CellPattern[] patterns,
        IReadOnlyList<Point<ClothSpace>>[] corners,
        double scale,
        bool single
    )
    {
        bool anyPlain = kinds.Exists(k => patterns[k.Members[0].Cell].IsPlain);
        if (anyPlain || !kinds.TrueForAll(k => patterns[k.Members[0].Cell].IsPlainGrid) || !patchwork.Value.HasColors)
        {
            return 0;
        }

        double cost = 0;
        double different = 0;
        double same = 0;
        foreach (Kind kind in kinds)
        {
            Patchwork.Sample first = patchwork.Value.Look(new(corners[kind.Members[0].Cell]));
            cost += CostOfColor * first.Patches;
            foreach ((int cell, _) in kind.Members.Skip(1))
            {
                double strange = patchwork.Value.Look(new(corners[cell])).StrangeTo(first);
                different += strange;
                same++;
                cost += CostOfColor * first.Patches * strange * scale;
            }
        }

        bool strips = placing.U is { Gap: > 0 } u && placing.V is { Gap: > 0 } && !IsGridStep(u);
        return single || strips || same == 0 || different <= MostStrangeColors * same ? cost : null;

        // Strips that are one square of the grid wide are squares of the grid.
        bool IsGridStep(SeamComb comb) =>
            Enumerable.Range(1, 6).Any(n => Math.Abs(comb.Side / n - comb.Gap) <= 0.1 * comb.Gap);
    }

    // Seams that no block, strip or border explains.
    private double Outside(LatticePlacing placing)
    {
        LatticeView view = placing.View!;
        const double CostOfLatticeLine = 0.3;
        HashSet<(int, int)> there = [];
        double tolerance = LatticeView.OnLineInches + 0.1;
        List<(double From, double To)> us = SectionsOf(placing.U!);
        List<(double From, double To)> vs = SectionsOf(placing.V!);
        foreach (LatticeCell cell in placing.Cells)
        {
            (double cu, double cv) = view.ToView(Middle(cell.Corners));
            there.Add((SectionAt(us, cu, 0), SectionAt(vs, cv, 0)));
        }

        double cost = 0;
        HashSet<int> borders = [];
        for (int i = 0; i < grid.Lines.Count; i++)
        {
            if (!inner[i])
            {
                continue;
            }

            Edge<ClothSpace> line = grid.Lines[i];
            (double mu, double mv) = view.ToView(line.PointAt(0.5));
            int su = SectionAt(us, mu, tolerance);
            int sv = SectionAt(vs, mv, tolerance);
            bool along = view.RunsAlong(line) && (OnLine(us, mu, tolerance) || OnLine(vs, mv, tolerance));
            bool inside = su >= 0 && sv >= 0 && there.Contains((su, sv));
            if (inside)
            {
                continue;
            }

            bool beside = along && Touches(su, sv, mu, mv);
            if (beside)
            {
                continue;
            }

            if (borderLineOf[i] >= 0)
            {
                borders.Add(borderLineOf[i]);
            }
            else
            {
                cost += along ? CostOfLatticeLine : 1;
            }
        }

        return cost + borders.Count;

        // A seam on the outline of a block, or in the strips between two.
        bool Touches(int su, int sv, double mu, double mv)
        {
            for (int du = -1; du <= 1; du++)
            {
                for (int dv = -1; dv <= 1; dv++)
                {
                    int nu = su >= 0 ? su + du : NearestSection(us, mu) + du;
                    int nv = sv >= 0 ? sv + dv : NearestSection(vs, mv) + dv;
                    if (there.Contains((nu, nv)))
                    {
                        return true;
                    }
                }
            }

            return false;
        }

        static List<(double From, double To)> SectionsOf(SeamComb comb) => [.. comb.Sections];

        static int SectionAt(List<(double From, double To)> sections, double at, double grow)
        {
            int near = NearestSection(sections, at);
            return near >= 0 && at >= sections[near].From - grow && at <= sections[near].To + grow ? near : -1;
        }

        static int NearestSection(List<(double From, double To)> sections, double at)
        {
            int best = -1;
            double least = double.PositiveInfinity;
            for (int i = 0; i < sections.Count; i++)
            {
                double off = Math.Max(0, Math.Max(sections[i].From - at, at - sections[i].To));
                if (off < least)
                {
                    (best, least) = (i, off);
                }
            }

            return best;
        }

        static bool OnLine(List<(double From, double To)> sections, double at, double tolerance) =>
            sections.Exists(s => Math.Abs(s.From - at) <= tolerance || Math.Abs(s.To - at) <= tolerance);
    }

    private static Point<ClothSpace> Middle(IReadOnlyList<Point<ClothSpace>> corners) =>
        new(corners.Average(c => c.X), corners.Average(c => c.Y));

    // Lines that run along the outline over most of the top, near it: each is one thing to say.
    private int[] FindBorderLines()
    {
        const double LeastCover = 0.5;
        const double MostPart = 0.3;
        int[] on = new int[map.Seams.Count];
        Array.Fill(on, -1);
        LatticeView view = new(map, 0);
        int lines = 0;
        MarkLines(view.UStops, view.URange, acrossU: true);
        MarkLines(view.VStops, view.VRange, acrossU: false);
        return on;

        void MarkLines(IReadOnlyList<SeamStop> stops, (double From, double To) range, bool acrossU)
        {
            double depth = MostPart * (range.To - range.From);
            foreach (SeamStop stop in stops)
            {
                double off = Math.Min(stop.At - range.From, range.To - stop.At);
                if (stop.Cover < LeastCover || off > depth || off < LatticeView.OnLineInches)
                {
                    continue;
                }

                for (int i = 0; i < on.Length; i++)
                {
                    (double mu, double mv) = view.ToView(grid.Lines[i].PointAt(0.5));
                    if (
                        Math.Abs((acrossU ? mu : mv) - stop.At) <= LatticeView.OnLineInches
                        && view.RunsAlong(grid.Lines[i])
                    )
                    {
                        on[i] = lines;
                    }
                }

                lines++;
            }
        }
    }

    private sealed class Kind
    {
        public List<(int Cell, Orientation How)> Members { get; } = [];

        public double Differences { get; set; }
    }
}
