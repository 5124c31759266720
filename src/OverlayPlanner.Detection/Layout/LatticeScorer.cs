using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Whether blocks are named one by one.</summary>
internal enum EachNamed
{
    /// <summary>Only all of a kind together.</summary>
    No,

    /// <summary>Also each by itself, where its kind has no name.</summary>
    Yes,
}

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
    private const double CostOfCutBlock = 0.25;
    private const double LeastLikeness = 0.5; // sparse patterns; close ones LeastCloseLikeness
    private const double LeastCloseLikeness = 0.62;
    private const int SparseSeams = 8;
    private const double CostOfDifference = 0.75; // for each seam's length that one has and the other has not
    private const double CostOfMissingSide = 0.5;
    private const double CostOfColor = 0.5;
    private const double MostPlain = 0.3;

    // A grid of squares falls into blocks by its colours alone: most of a block's must come back in the next.
    private const double MostStrangeColors = 0.4;

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
    /// <param name="names">Whether blocks of a kind without a name are named one by one: slow, for the last readings.</param>
    public LatticeReading? Read(
        LatticePlacing placing,
        int mostLooked,
        double limit = double.PositiveInfinity,
        EachNamed names = EachNamed.No
    )
    {
        bool single = placing.Cells.Count == 1;
        double cost = single ? 0 : CostOfLattice;
        cost += placing.View is { IsOnPoint: true } ? CostOfTurnedLattice : 0;
        cost += placing.Cells.Sum(c => (1 - c.Support) * 4 * CostOfMissingSide);
        (double outside, double cut) = placing.View is null ? (0, 0) : Outside(placing);
        cost += outside + CostOfCutBlock * cut;
        if (cost >= limit)
        {
            return null;
        }

        List<int> looked = Looked(placing.Cells.Count, mostLooked);
        double scale = (double)placing.Cells.Count / looked.Count;
        double side = placing.Cells.Average(c => c.Frame.Side);
        double slack = SlackOf(side);
        IReadOnlyList<Point<ClothSpace>>[] corners = [.. looked.Select(i => CornersOf(placing, i, side))];
        CellPattern[] patterns = [.. corners.Select(c => CellPattern.Of(grid.LinesNear(c), new(c), slack))];

        // A plain patch in borders is no block; nor is any square of squares in a top of squares.
        bool plainAlone = single && placing.View is not null && (patterns[0].IsPlain || patterns[0].IsPlainGrid);
        if (plainAlone || (!single && !IsSetting(placing, looked, patterns)))
        {
            return null;
        }

        double within = PatternNamer.WithinOf(side);
        List<Kind> kinds = KindsOf(patterns, within);
        TakeForPlain(kinds, patterns, [.. looked.Select(i => ParityOf(placing, placing.Cells[i]))]);

        // What the map's edge cuts off is known from the whole blocks only where they are alike.
        int usual = kinds
            .OrderByDescending(k => k.Members.Count)
            .Take(2)
            .Where(k => k.Members.Count > 1)
            .Sum(k => k.Members.Count);
        cost += usual >= 0.8 * looked.Count && placing.Cells.Count >= 4 ? 0 : (1 - CostOfCutBlock) * cut;
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
                drawn = Math.Min(drawn, CostOfName + CostOfDifference * name.Differences.Sum() * scale);
            }
            else if (names == EachNamed.Yes && kind.Members.Count > 1 && !first.IsPlain)
            {
                drawn = Math.Min(drawn, OneByOne(kind, patterns, within, scale));
            }

            cost += drawn + (kinds.Count > 1 ? CostOfKind : 0);
            named.Add(new([.. kind.Members.Select(m => (looked[m.Cell], m.How))], name));
        }

        double? colors = Colors(placing, kinds, patterns, corners, scale, single);
        return colors is double strange && cost + strange < limit ? new(placing, cost + strange, named) : null;
    }

    // A sampler's blocks may resemble each other enough to be taken for one kind, and still each have a name.
    private double OneByOne(Kind kind, CellPattern[] patterns, double within, double scale)
    {
        double cost = 0;
        foreach ((int cell, _) in kind.Members)
        {
            PatternName? own = namer.Name([patterns[cell]], within);
            cost +=
                CostOfKind
                + (
                    own is null
                        ? patterns[cell].Seams
                        : Math.Min(patterns[cell].Seams, CostOfName + CostOfDifference * own.Differences[0])
                );
        }

        return cost * scale;
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
        double slack = SlackOf(side);
        double within = PatternNamer.WithinOf(side);
        // A cell that its kind holds by resemblance only may be another block than the rest.
        const double Clearly = 0.08;
        for (int i = 0; i < names.Length; i++)
        {
            IReadOnlyList<Point<ClothSpace>> c = CornersOf(reading.Placing, i, side);
            CellPattern pattern = CellPattern.Of(grid.LinesNear(c), new(c), slack);
            PatternName? own = namer.Name([pattern], within);
            if (
                own is not null
                && (
                    names[i] is not { } shared
                    || (own.Id != shared.Id && own.Agreement > namer.AgreementOf(pattern, shared, within) + Clearly)
                )
            )
            {
                names[i] = own;
            }
        }

        return names;
    }

    /// <summary>A block's own corners.</summary>
    public IReadOnlyList<Point<ClothSpace>> CornersOf(LatticePlacing placing, int cell, double side) =>
        placing.View is { } view
            ? LatticePlacer.Measured(view, grid, placing.Cells[cell].Corners, side)
            : placing.Cells[cell].Corners;

    // How far from a side its own seams lie: piecing wobble, more on a large block, but less than a patch.
    private static double SlackOf(double side) => Math.Clamp(0.025 * side, 0.22, 0.45);

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
        // A plain block with a false seam or two, beside blocks of many, is plain.
        const int MostFalse = 2;
        int[] many = [.. patterns.Where(p => p.Seams > MostFalse).Select(p => p.Seams).Order()];
        int mostOfPlain = many.Length > 0 && many[many.Length / 2] >= 3 * MostFalse ? MostFalse : 0;
        int[] plain = new int[2];
        int[] all = new int[2];
        for (int i = 0; i < looked.Count; i++)
        {
            int parity = ParityOf(placing, placing.Cells[looked[i]]);
            all[parity]++;
            plain[parity] += patterns[i].IsPlain || patterns[i].Seams <= mostOfPlain ? 1 : 0;
        }

        double part = (double)(plain[0] + plain[1]) / looked.Count;
        if (part <= MostPlain)
        {
            return true;
        }

        return all[0] > 0 && all[1] > 0 && Math.Min((double)plain[0] / all[0], (double)plain[1] / all[1]) <= MostPlain;
    }

    private static int ParityOf(LatticePlacing placing, LatticeCell cell) =>
        placing.View is { IsOnPoint: true } ? cell.Row & 1 : (cell.Row + cell.Column) & 1;

    private static List<Kind> KindsOf(CellPattern[] patterns, double within)
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
                if (
                    Math.Abs(first.Length - patterns[i].Length)
                    > 0.5 * Math.Max(first.Length, patterns[i].Length) + 0.5
                )
                {
                    continue;
                }

                foreach (Orientation way in Orientation.All)
                {
                    CellPattern turned = first.In(way);
                    double differ = CostOfDifference * patterns[i].DifferencesTo(turned, within);
                    double here = differ + (way == default ? 0 : 0.3 * CostOfTurn);
                    if (
                        here < least
                        && (
                            patterns[i].IsPlain
                            || patterns[i].LikenessTo(turned, within)
                                >= (patterns[i].Seams <= SparseSeams ? LeastLikeness : LeastCloseLikeness)
                        )
                    )
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

        Join(kinds, patterns, within);
        return kinds;
    }

    // A block with a seam missing and a false one may look like no other alone; said as what it differs in it may be shorter.
    private static void Join(List<Kind> kinds, CellPattern[] patterns, double within)
    {
        const double LeastJoined = 0.3;
        const int MostSeams = 8;
        foreach (Kind kind in kinds.OrderBy(k => k.Members.Count).ToArray())
        {
            CellPattern first = patterns[kind.Members[0].Cell];
            if (first.IsPlain || first.Seams > MostSeams)
            {
                continue;
            }

            double kept =
                first.Seams
                + CostOfKind
                + kind.Differences
                + kind.Members.Count * (CostOfKind + Math.Log2(Math.Max(1, kinds.Count)));
            foreach (Kind other in kinds.Where(k => k != kind && k.Members.Count > kind.Members.Count).ToArray())
            {
                CellPattern model = patterns[other.Members[0].Cell];
                if (model.IsPlain || Orientation.All.Max(o => first.LikenessTo(model.In(o), within)) < LeastJoined)
                {
                    continue;
                }

                (double Differs, Orientation How)[] joined =
                [
                    .. kind.Members.Select(m =>
                        Orientation
                            .All.Select(o =>
                                (
                                    Differs: CostOfDifference * patterns[m.Cell].DifferencesTo(model.In(o), within),
                                    How: o
                                )
                            )
                            .MinBy(d => d.Differs + (d.How == default ? 0 : CostOfTurn))
                    ),
                ];
                if (joined.Sum(j => j.Differs + (j.How == default ? 0 : CostOfTurn)) < kept)
                {
                    other.Members.AddRange(kind.Members.Select((m, i) => (m.Cell, joined[i].How)));
                    other.Differences += joined.Sum(j => j.Differs);
                    kinds.Remove(kind);
                    break;
                }
            }
        }
    }

    // A plain block with a false seam is a plain block where others of its turn are plain.
    private static void TakeForPlain(List<Kind> kinds, CellPattern[] patterns, int[] parityOf)
    {
        const int MostSeams = 2;
        const double LeastPlain = 0.3;
        Kind? plain = kinds.Find(k => patterns[k.Members[0].Cell].IsPlain);
        if (plain is null)
        {
            return;
        }

        bool[] isPlainTurn =
        [
            .. new[] { 0, 1 }.Select(p =>
                plain.Members.Count(m => parityOf[m.Cell] == p) >= LeastPlain * parityOf.Count(q => q == p)
            ),
        ];
        foreach (Kind kind in kinds.Where(k => k != plain).ToArray())
        {
            if (!kind.Members.TrueForAll(m => patterns[m.Cell].Seams <= MostSeams && isPlainTurn[parityOf[m.Cell]]))
            {
                continue;
            }

            plain.Members.AddRange(kind.Members.Select(m => (m.Cell, default(Orientation))));
            plain.Differences += kind.Members.Sum(m => CostOfDifference * patterns[m.Cell].Seams);
            kinds.Remove(kind);
        }
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
            inTurn += Deviating([
                .. labels.Where(l => ParityOf(placing, placing.Cells[looked[l.Key]]) == parity).Select(l => l.Value),
            ]);
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

    /// <summary>What the seams cost that no block, strip or border explains.</summary>
    /// <returns>In seams; those in places that the map's edge cuts off apart.</returns>
    public (double Cost, double Cut) Outside(LatticePlacing placing)
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
        double cut = 0;
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
            else if (!along && IsCut(mu, mv))
            {
                cut++;
            }
            else
            {
                cost += along ? CostOfLatticeLine : 1;
            }
        }

        return (cost + borders.Count, cut);

        // In a place of the lattice that the map's edge cuts off: most of what lies there is known from the whole blocks.
        bool IsCut(double mu, double mv)
        {
            (double u0, double u1) = Around(us, mu);
            (double v0, double v1) = Around(vs, mv);
            Box<ClothSpace> room = new Box<ClothSpace>(0, 0, map.Width.Inches, map.Height.Inches).Grown(0.3);
            return !(
                room.Holds(view.ToCloth(u0, v0))
                && room.Holds(view.ToCloth(u1, v0))
                && room.Holds(view.ToCloth(u1, v1))
                && room.Holds(view.ToCloth(u0, v1))
            );
        }

        static (double From, double To) Around(List<(double From, double To)> sections, double at)
        {
            (double From, double To) near = sections[NearestSection(sections, at)];
            double pitch =
                sections.Count > 1
                    ? (sections[^1].From - sections[0].From) / (sections.Count - 1)
                    : near.To - near.From;
            double steps =
                at > near.To ? Math.Ceiling((at - near.To) / pitch)
                : at < near.From ? -Math.Ceiling((near.From - at) / pitch)
                : 0;
            return (near.From + steps * pitch, near.To + steps * pitch);
        }

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
