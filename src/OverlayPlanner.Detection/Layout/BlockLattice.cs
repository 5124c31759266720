using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>The blocks of a map, and what a person should know about them.</summary>
/// <param name="Blocks">In reading order.</param>
/// <param name="Findings">
/// <c>pattern-narrow</c> where two drafts fit nearly alike, <c>hint-not-followed</c> where the seams show something else than
/// the user said.
/// </param>
internal sealed record FoundLattice(IReadOnlyList<Block> Blocks, IReadOnlyList<Finding> Findings);

/// <summary>
/// Reads a map as equal blocks in a lattice: straight, on point or turned a little, with or without strips between them, borders
/// of any widths round them, plain blocks in turn.
/// </summary>
/// <remarks>
/// Seams' directions propose views of the map, pairs and triples of long lines in a view propose combs, two combs of one side
/// and gap a lattice; its rows and columns are those whose cells have an outline. Among the lattices and the reading as one
/// block the shortest description wins (<see cref="LatticeScorer"/>). Part blocks at the map's edge stay seams outside the
/// blocks. Known limits: one size of block to a top; rows of blocks that are shifted against each other are no lattice.
/// </remarks>
internal static class BlockLattice
{
    private const int MostPairsOfOneSide = 12;
    private const int MostPlaced = 900;
    private const int MostOfOneSide = 5;
    private const int MostRead = 260;
    private const int MostLookedFirst = 14;
    private const int Finalists = 12;
    private const double SquareWithin = 0.05;

    /// <summary>The blocks, in reading order; one block that is the whole map where nothing repeats.</summary>
    public static IReadOnlyList<Block> Find(QuiltMap map) => Find(map, LatticeHints.None).Blocks;

    /// <summary>The blocks, with what the user said as a strong prior.</summary>
    public static FoundLattice Find(QuiltMap map, LatticeHints hints)
    {
        if (!map.Seams.Any(s => s.Role != SeamRole.Edge))
        {
            return new([], HintFindings.WithoutSeams(hints));
        }

        string? pattern = hints.Pattern is null ? null : BlockLibrary.IdOf(hints.Pattern);
        PatternNamer namer =
            hints.Drafts.Count == 0 && pattern is null ? PatternNamer.OfLibrary : new(hints.Drafts, pattern);
        LatticeScorer scorer = new(map, namer);
        IReadOnlyList<LatticeReading> last = ReadAll(map, scorer, hints);
        if (last.Count == 0)
        {
            return new([], HintFindings.WithoutSeams(hints));
        }

        LatticeReading best = last.OrderByDescending(r => HintedPlacings.Fits(r.Placing, hints))
            .ThenByDescending(r => pattern is not null && r.Kinds.Any(k => k.Name?.Id == pattern))
            .ThenBy(r => r.Cost)
            .First();
        PatternName?[] names = scorer.NamesOf(best);
        List<Block> blocks = BlocksOf(scorer, best, names);
        return new(blocks, [.. HintFindings.For(best.Placing, names, hints, namer), .. NarrowNames(blocks, names)]);
    }

    /// <summary>The readings that came last in question, hinted ones and the cheapest first.</summary>
    internal static IReadOnlyList<LatticeReading> ReadAll(QuiltMap map, LatticeScorer scorer, LatticeHints hints)
    {
        List<LatticePlacing> placings = [WholeMap(map)];
        foreach (double angle in LatticeView.DirectionsOf(map))
        {
            placings.AddRange(PlacingsIn(new(map, angle)));
        }

        placings.AddRange(HintedPlacings.Of(map, hints));
        placings = [.. placings.DistinctBy(KeyOf)];
        List<LatticeReading> readings = [];
        double least = double.PositiveInfinity;
        foreach (LatticePlacing placing in placings)
        {
            bool hinted = HintedPlacings.Fits(placing, hints);
            if (scorer.Read(placing, MostLookedFirst, hinted ? double.PositiveInfinity : 2 * least + 20) is { } reading)
            {
                readings.Add(reading);
                least = Math.Min(least, reading.Cost);
            }
        }

        return
        [
            .. readings
                .OrderByDescending(r => HintedPlacings.Fits(r.Placing, hints))
                .ThenBy(r => r.Cost)
                .Take(Finalists)
                .Select(r => scorer.Read(r.Placing, int.MaxValue, names: EachNamed.Yes))
                .OfType<LatticeReading>()
                .OrderByDescending(r => HintedPlacings.Fits(r.Placing, hints))
                .ThenBy(r => r.Cost),
        ];
    }

    // Two combs that lead to the same blocks.
    private static (int, int, int, int, int, int) KeyOf(LatticePlacing placing)
    {
        Point<ClothSpace> first = placing.Cells[0].Corners[0];
        Point<ClothSpace> last = placing.Cells[^1].Corners[2];
        return (placing.Rows, placing.Columns, Bin(first.X), Bin(first.Y), Bin(last.X), Bin(last.Y));

        static int Bin(double inches) => (int)Math.Round(inches * 4);
    }

    private static LatticePlacing WholeMap(QuiltMap map)
    {
        (double w, double h) = (map.Width.Inches, map.Height.Inches);
        return new(null, null, null, 1, 1, [new(0, 0, [new(0, 0), new(w, 0), new(w, h), new(0, h)], 1)]);
    }

    private static IEnumerable<LatticePlacing> PlacingsIn(LatticeView view)
    {
        IReadOnlyList<SeamComb> us = SeamComb.Of(view.UStops, view.URange);
        IReadOnlyList<SeamComb> vs = SeamComb.Of(view.VStops, view.VRange);
        List<(SeamComb U, SeamComb V, double Score)> pairs = [];
        foreach (SeamComb u in us)
        {
            foreach (SeamComb v in vs)
            {
                bool square = Math.Abs(u.Side - v.Side) <= SquareWithin * Math.Max(u.Side, v.Side);
                bool strips = u.Sections.Count == 1 || v.Sections.Count == 1 || Math.Abs(u.Gap - v.Gap) <= 0.45;
                if (square && strips)
                {
                    pairs.Add((u, v, u.Score + v.Score));
                }
            }
        }

        List<LatticePlacing> placings = [];
        foreach ((SeamComb u, SeamComb v, _) in Tried(pairs))
        {
            if (LatticePlacer.Place(view, u, v) is { } placing)
            {
                placings.Add(placing);
            }

            // One block in borders: the pair of sections that stands in the middle.
            if (!view.IsOnPoint && InMiddle(view, u, v) is { } single)
            {
                placings.Add(single);
            }
        }

        // Of each side and gap those that have the most seams on their blocks' outlines.
        return placings
            .DistinctBy(KeyOf)
            .GroupBy(p => (Math.Round(2 * p.U!.Side), Math.Round(2 * p.U.Gap), p.Cells.Count == 1))
            .SelectMany(g => g.OrderByDescending(Outlined).Take(MostOfOneSide))
            .OrderByDescending(Outlined)
            .Take(MostRead);

        static double Outlined(LatticePlacing p) => p.Cells.Sum(c => (c.Support - 0.6) * p.U!.Side);
    }

    // A fine grid proposes thousands of pairs: of each side and gap the best, or the large blocks would crowd out the small.
    private static IEnumerable<(SeamComb U, SeamComb V, double Score)> Tried(
        List<(SeamComb U, SeamComb V, double Score)> pairs
    ) =>
        pairs
            .GroupBy(p => (Math.Round(2 * p.U.Side), Math.Round(2 * p.U.Gap)))
            .SelectMany(g => g.OrderByDescending(p => p.Score).Take(MostPairsOfOneSide))
            .OrderByDescending(p => p.Score)
            .Take(MostPlaced);

    private static LatticePlacing? InMiddle(LatticeView view, SeamComb u, SeamComb v)
    {
        const double LeastPart = 0.4;
        (double width, double height) = (view.URange.To - view.URange.From, view.VRange.To - view.VRange.From);
        if (u.Side < LeastPart * width || v.Side < LeastPart * height)
        {
            return null;
        }

        SeamComb oneU = u with { Sections = [u.Sections.MinBy(s => Math.Abs(s.From + s.To))] };
        SeamComb oneV = v with { Sections = [v.Sections.MinBy(s => Math.Abs(s.From + s.To))] };
        return LatticePlacer.Place(view, oneU, oneV, fewest: 1);
    }

    private static List<Block> BlocksOf(LatticeScorer scorer, LatticeReading reading, PatternName?[] names)
    {
        double side = reading.Placing.Cells.Average(c => c.Frame.Side);
        List<Block> blocks = [];
        for (int i = 0; i < reading.Placing.Cells.Count; i++)
        {
            LatticeCell cell = reading.Placing.Cells[i];
            PatternName? name = names[i];
            Block block = new(
                "b" + (i + 1).ToString(CultureInfo.InvariantCulture),
                scorer.CornersOf(reading.Placing, i, side)
            )
            {
                Row = cell.Row,
                Column = cell.Column,
                Pattern = name?.Id,
                Turn = name?.How[0].Turn ?? 0,
                Mirror = name?.How[0].Mirror ?? false,
            };

            // How much better the name fits than the next, for whoever wants to look.
            blocks.Add(
                name is null
                    ? block
                    : block with
                    {
                        Unknown = block.Unknown.With("patternMargin", Math.Round(name.Margin, 3)),
                    }
            );
        }

        return blocks;
    }

    private static IEnumerable<Finding> NarrowNames(List<Block> blocks, PatternName?[] names) =>
        names
            .Select((n, i) => (Name: n, Block: blocks[i]))
            .Where(n => n.Name is { IsNarrow: true })
            .GroupBy(n => (n.Name!.Id, n.Name.Second))
            .Select(g => new Finding(
                "pattern-narrow",
                g.Count() == 1
                    ? $"block {g.First().Block.Id}"
                    : $"blocks {string.Join(", ", g.Take(6).Select(b => b.Block.Id))}{(g.Count() > 6 ? " …" : "")}",
                $"{g.Key.Id} or {g.Key.Second}: look which it is."
            ));
}
