using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Rows;

public static partial class RowPlanner
{
    private sealed partial class Planning
    {
        private sealed partial class QuiltRoute
        {
            // A row may cost half a start more for being stitched as the others are: one pattern to remember, and one look.
            private const double StartsPerPattern = 0.5;
            private readonly HashSet<Pattern> patterns = [];
            private readonly HashSet<(Pattern, bool, int)> laid = [];

            private double InchesPerStart => of.wishes.Route.StartCostSeconds / of.wishes.Route.InchCostSeconds;

            /// <summary>
            /// Chooses where the thread enters and leaves the blocks of each row of a pass. Rows of the same kinds of block go
            /// by the same heights, and so by the same halves, unless that takes more starts.
            /// </summary>
            private void ChooseHeights(List<(int Row, List<RowBlock> Blocks)> band)
            {
                foreach (
                    IGrouping<string, (int Row, List<RowBlock> Blocks)> g in band.Where(r => !IsDeep(r.Blocks))
                        .GroupBy(r => KindsOf(r.Blocks))
                )
                {
                    of.cancellation.ThrowIfCancellationRequested();
                    List<List<RowBlock>> all = [.. g.Select(r => r.Blocks)];
                    RowChoice[] each = OneByOne(all, [.. all.Select(SidesOf)]);
                    foreach (((int number, _), RowChoice choice) in g.Zip(each))
                    {
                        chosen[number] = choice;
                    }

                    // A row that no thread gets through is stitched otherwise.
                    int[] through = [.. Enumerable.Range(0, each.Length).Where(i => each[i].Heights is not null)];
                    if (through.Length == 0)
                    {
                        continue;
                    }

                    List<List<RowBlock>> rows = [.. through.Select(i => all[i])];
                    RowChoice[] best = Alike(rows, [.. through.Select(i => each[i])]);
                    patterns.UnionWith(PatternsOf(rows, best));
                    laid.UnionWith(LaysOf(rows, best));
                    int[] numbers = [.. g.Select(r => r.Row)];
                    foreach ((int i, RowChoice choice) in through.Zip(best))
                    {
                        chosen[numbers[i]] = choice;
                    }
                }
            }

            // The rows by common heights, where that costs no more than each by its own.
            private RowChoice[] Alike(List<List<RowBlock>> rows, RowChoice[] each)
            {
                (RowChoice[] best, GroupCost least) = (each, CostOf(rows, each));
                RowSides shared = new(each.All(c => c.Sides.Top), each.All(c => c.Sides.Bottom));
                bool[] own = each.All(c => c.Sides == shared) ? [false] : [false, true];
                foreach (RowHeights h in HeightsOf([.. rows.SelectMany(r => r)], shared))
                {
                    foreach (bool o in own)
                    {
                        RowChoice[] choice = [.. each.Select(c => new RowChoice(h, o ? c.Sides : shared))];
                        GroupCost cost = CostOf(rows, choice);
                        if (double.IsFinite(cost.Price) && cost.CompareTo(least) < 0)
                        {
                            (best, least) = (choice, cost);
                        }
                    }
                }

                return best;
            }

            // Each row by its own least cost, as the thread comes from the one before.
            private RowChoice[] OneByOne(List<List<RowBlock>> rows, RowSides[] sides)
            {
                RowChoice[] best = new RowChoice[rows.Count];
                int? needle = null;
                for (int i = 0; i < rows.Count; i++)
                {
                    RowCost least = RowCost.Impossible;
                    best[i] = new(null, sides[i]);
                    foreach (RowHeights h in HeightsOf(rows[i], sides[i]))
                    {
                        RowCost cost = CostOf(rows[i], h, sides[i], needle);
                        if (cost.CompareTo(least) < 0)
                        {
                            (best[i], least) = (new(h, sides[i]), cost);
                        }
                    }

                    needle = least.End;
                }

                return best;
            }

            // Starts or their price first, then ways to stitch blocks that lie alike, crossings, and what is travelled twice.
            private GroupCost CostOf(List<List<RowBlock>> rows, RowChoice[] choice)
            {
                double price = 0;
                int crossings = 0;
                double last = 0;
                int? needle = null;
                for (int i = 0; i < rows.Count; i++)
                {
                    RowCost cost = choice[i].Heights is { } h
                        ? CostOf(rows[i], h, choice[i].Sides, needle)
                        : RowCost.Impossible;
                    price += cost.Price;
                    crossings += cost.Crossings;
                    last += cost.Last;
                    needle = cost.End;
                }

                // Blocks that lie alike are stitched alike before anything but starts; those that lie otherwise, if it pays.
                double remembered =
                    StartsPerPattern * InchesPerStart * PatternsOf(rows, choice).Count(p => !patterns.Contains(p));
                int lays = LaysOf(rows, choice).Count(p => !laid.Contains(p));
                return of.wishes.Route.Thread == ThreadChoice.Mixed
                    ? new(price + remembered + lays * StartsPerPattern * InchesPerStart, 0, crossings, last)
                    : new(price, lays, crossings, last + remembered);
            }

            private static IEnumerable<(RowBlock Block, RowChoice Choice)> Chosen(
                List<List<RowBlock>> rows,
                RowChoice[] choice
            ) =>
                rows.Zip(choice)
                    .Where(r => r.Second.Heights is not null)
                    .SelectMany(r => r.First.Select(b => (b, r.Second)));

            private HashSet<Pattern> PatternsOf(List<List<RowBlock>> rows, RowChoice[] choice) =>
                [.. Chosen(rows, choice).Select(c => PatternOf(c.Block, c.Choice.Heights!.Value, c.Choice.Sides))];

            private HashSet<(Pattern, bool, int)> LaysOf(List<List<RowBlock>> rows, RowChoice[] choice) =>
                [
                    .. Chosen(rows, choice)
                        .Select(c =>
                        {
                            BlockCopy copy = of.kindOf[c.Block.Block].Copy;
                            return (
                                PatternOf(c.Block, c.Choice.Heights!.Value, c.Choice.Sides),
                                copy.IsMirrored,
                                copy.Turn
                            );
                        }),
                ];

            // What is to remember of a block's halves, as its kind's first block sees them.
            private Pattern PatternOf(RowBlock b, RowHeights heights, RowSides sides)
            {
                (BlockKind kind, BlockCopy copy) = of.kindOf[b.Block];
                return copy.IsHalfTurned
                    ? Pattern.Of(kind, copy.Frame, heights.TurnedByHalf(), sides.TurnedByHalf())
                    : Pattern.Of(kind, copy.Frame, heights, sides);
            }

            private bool IsDeep(List<RowBlock> blocks) =>
                of.wishes.Reach is { } reach
                && blocks.Max(b => b.Block.Corners.Max(c => c.Y) - b.Block.Corners.Min(c => c.Y)) > reach.Inches + 1e-6;

            // Rows are alike where they hold the same kinds.
            private string KindsOf(List<RowBlock> blocks) =>
                string.Join(
                    ',',
                    blocks.Select(b => of.kindOf[b.Block].Kind.First.Block.Id).Distinct().Order(StringComparer.Ordinal)
                );

            // Sides that are stitched along every block of the row.
            private RowSides SidesOf(List<RowBlock> blocks)
            {
                return new(All(0), All(1));

                bool All(double v) =>
                    blocks.All(b =>
                        b.Sides.Where(s => Math.Abs(b.At[s.From].V - v) < 0.02 && Math.Abs(b.At[s.To].V - v) < 0.02)
                            .All(s => of.anchorOf.TryGetValue(s.Id, out int e) && sideStitched[e])
                    );
            }

            // Heights at which every block given may be entered and left.
            private IEnumerable<RowHeights> HeightsOf(List<RowBlock> blocks, RowSides sides)
            {
                List<double> common = [.. ForKind(blocks[0])];
                foreach (RowBlock b in blocks.Skip(1))
                {
                    IReadOnlyList<double> own = ForKind(b);
                    common.RemoveAll(v => !own.Any(w => Math.Abs(v - w) < 0.02));
                }

                if (sides.Top && !common.Any(v => v < 0.02))
                {
                    common.Insert(0, 0);
                }

                if (sides.Bottom && !common.Any(v => v > 0.98))
                {
                    common.Add(1);
                }

                return from a in common
                    from b in common
                    select new RowHeights(a, b);

                IReadOnlyList<double> ForKind(RowBlock b) =>
                    designs[of.kindOf[b.Block].Kind].HeightsOf(of.kindOf[b.Block].Copy);
            }

            // Starts or their price first, then crossings, then what is travelled twice.
            private RowCost CostOf(List<RowBlock> blocks, RowHeights heights, RowSides sides, int? needle)
            {
                double inches = 0;
                int starts = 0;
                int crossings = 0;
                int? at = needle;
                foreach (RowBlock b in blocks)
                {
                    if (HalvesOf(b, heights, sides) is not { } halves)
                    {
                        return RowCost.Impossible;
                    }

                    inches += halves.Inches;
                    starts += halves.Others.Count;
                    crossings += halves.Crossings;
                    (IReadOnlyList<TrailLeg> @out, _, _) = LegsOf(b, heights, sides);
                    Hop(at, NodeBefore(@out[0]));
                    at = NodeAfter(@out[^1]);
                }

                foreach (RowBlock b in Enumerable.Reverse(blocks))
                {
                    (_, IReadOnlyList<TrailLeg> home, _) = LegsOf(b, heights, sides);
                    Hop(at, NodeBefore(home[0]));
                    at = NodeAfter(home[^1]);
                }

                return of.wishes.Route.Thread == ThreadChoice.Mixed
                    ? new(starts * InchesPerStart + inches, crossings, -heights.Home, at)
                    : new(starts, crossings, inches - 0.001 * heights.Home, at);

                void Hop(int? from, int to)
                {
                    if (from is not { } f || f == to)
                    {
                        starts += from is null ? 1 : 0;
                        return;
                    }

                    if (WayAlongSides(f, to) is { } way)
                    {
                        inches += way.Sum(l => lines[l.Line].Inches);
                    }
                    else
                    {
                        starts++;
                    }
                }
            }

            /// <summary>Where a row's thread enters and leaves its blocks; null where no heights do.</summary>
            private readonly record struct RowChoice(RowHeights? Heights, RowSides Sides);

            /// <summary>What a row costs, and where its thread ends.</summary>
            private readonly record struct RowCost(double Price, int Crossings, double Last, int? End)
                : IComparable<RowCost>
            {
                public static RowCost Impossible { get; } = new(double.PositiveInfinity, 0, 0, null);

                public int CompareTo(RowCost other) =>
                    (Price, Crossings, Last).CompareTo((other.Price, other.Crossings, other.Last));
            }

            /// <summary>What rows that are chosen together cost.</summary>
            private readonly record struct GroupCost(double Price, int Lays, int Crossings, double Last)
                : IComparable<GroupCost>
            {
                public int CompareTo(GroupCost other) =>
                    (Price, Lays, Crossings, Last).CompareTo((other.Price, other.Lays, other.Crossings, other.Last));
            }

            /// <summary>One pair of halves of a kind, in its first block's frame.</summary>
            private readonly record struct Pattern(BlockKind Kind, KindFrame Frame, long Out, long Home, RowSides Sides)
            {
                // As fine as the halves are told apart.
                private const double Steps = 1e6;

                public static Pattern Of(BlockKind kind, KindFrame frame, RowHeights heights, RowSides sides) =>
                    new(
                        kind,
                        frame,
                        (long)Math.Round(heights.Out * Steps),
                        (long)Math.Round(heights.Home * Steps),
                        sides
                    );
            }
        }
    }
}
