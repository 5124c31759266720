using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Memory;

namespace OverlayPlanner.Tests.Routing.Memory;

public class ShortestDescriptionTests
{
    [Fact]
    public void Random_walks_are_said_no_longer_than_step_by_step_and_lead_as_they_should() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                RouteCandidate c = Walk(new Random(seed), 4 + seed % 20);
                RouteCall call = CallWriter.Write(Cloth, c, TestContext.Current.CancellationToken);
                CallTests.AssertFollowed(Cloth, c with { Call = call });
                Assert.True(call.DescriptionLength <= call.Steps);
                Assert.True(call.Steps <= call.PlainLength);
            },
            count: 400
        );

    [Fact]
    public void No_other_way_to_say_a_short_walk_is_shorter() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                // All descriptions by brute force, straight from the grammar.
                RouteCandidate c = Walk(new Random(seed), 2 + seed % 8);
                (CallLines lines, IReadOnlyList<int[]> runs) = FollowedRoute.Of(Cloth, c);
                ThreadSteps steps = ThreadSteps.Read(lines, runs[0], new bool[lines.LineCount]);
                steps.Name(ReachWords.Pieces, 0);
                Assert.Equal(
                    Brute(steps, 0, steps.Count, new Dictionary<(int, int), (int, int)>()).Row,
                    ShortestDescription.Of(steps).Length
                );
            },
            count: 300
        );

    [Fact]
    public void Round_a_square_is_four_times_one_step()
    {
        RouteCall call = Said([(1, 1), (3, 1), (3, 3), (1, 3), (1, 1)]);
        CallRepeat repeat = Assert.IsType<CallRepeat>(Assert.Single(Assert.Single(call.Threads).Items));
        Assert.Equal(4, repeat.Times);
        Assert.IsType<CallStep>(Assert.Single(repeat.Items));

        // One step and its count; four sides of two pieces each in the plain list.
        Assert.Equal(2, call.DescriptionLength);
        Assert.Equal(8, call.PlainLength);
        Assert.Equal(4, call.Steps);
    }

    [Fact]
    public void A_stair_is_its_step_and_riser_so_many_times()
    {
        RouteCall call = Said([(0, 0), (1, 0), (1, 1), (2, 1), (2, 2), (3, 2), (3, 3), (4, 3), (4, 4)]);

        // 4 ( across, down ): count 1, brackets 1, two steps; or 4 of a step then the same mirrored: 1 + 1 + 1.
        Assert.Equal(3, call.DescriptionLength);
        Assert.Equal(8, call.PlainLength);
    }

    [Fact]
    public void Out_and_back_on_the_other_side_is_the_way_out_and_one_mark()
    {
        // The second half is the first mirrored about the upright through (4, 0), travelled the other way.
        RouteCall call = Said(OutAndBackOnTheOtherSide);
        CallAgain again = Assert.IsType<CallAgain>(Assert.Single(Assert.Single(call.Threads).Items));
        Assert.Equal(AgainKind.Backwards, again.Kind);

        // Seven steps; one to the middle line and one straight on along a line that was stitched before, so a step of its own,
        // between the two; brackets; the mark.
        Assert.Equal((7, 2), (again.Items.Count, again.Between.Count));
        Assert.Equal(11, call.DescriptionLength);
    }

    [Fact]
    public void Back_along_the_very_same_way_takes_both_marks()
    {
        RouteCall call = Said(BackTheSameWay);
        CallAgain again = Assert.IsType<CallAgain>(Assert.Single(Assert.Single(call.Threads).Items));
        Assert.Equal(AgainKind.BackwardsMirrored, again.Kind);
        Assert.Equal(TurnSize.Back, again.Turn!.Value.Size);

        // Five steps, brackets, two marks.
        Assert.Equal(8, call.DescriptionLength);
    }

    [Fact]
    public void The_published_examples_are_what_is_said()
    {
        string published = File.ReadAllText(Repository.PathOf("docs/CALL.md"));
        RouteCall[] calls =
        [
            Said([(1, 1), (3, 1), (3, 3), (1, 3), (1, 1)]),
            Said([(0, 0), (1, 0), (1, 1), (2, 1), (2, 2), (3, 2), (3, 3), (4, 3), (4, 4)]),
            Said(OutAndBackOnTheOtherSide),
            Said(BackTheSameWay),
        ];
        Assert.All(
            calls.SelectMany(c => c.Verses),
            v => Assert.Contains("\n> " + v + "\n", published, StringComparison.Ordinal)
        );
        Assert.Equal([2, 3, 11, 8], calls.Select(c => c.DescriptionLength));
    }

    [Fact]
    public void A_low_side_that_flips_along_a_seam_is_a_step_across()
    {
        Junction[] points = [.. Enumerable.Range(0, 4).Select(i => Point(Named($"j{i}"), 1 + 2 * i, 4))];
        Seam[] seams =
        [
            new("s0", "j0", "j1") { Ditch = Side.Left },
            new("s1", "j1", "j2") { Ditch = Side.Right },
            new("s2", "j2", "j3") { Ditch = Side.Right },
        ];
        QuiltMap map = new(Length.FromInches(8), Length.FromInches(8), points, seams);
        RouteCandidate c = CallTests
            .Plan(map, new() { Lines = OverlayPlanner.Routing.LineChoice.Seams })
            .Route.Candidates[0];
        Assert.Equal(2, c.Call!.Steps);
        Assert.Equal(1, c.Ease!.StepsAcross);
        Assert.Contains(
            c.Call.Threads[0].Items,
            i => i is CallStep { StepsAcross: true, Turn.Size: TurnSize.Straight }
        );
        Assert.Contains("step across", c.Call.Verses[0], StringComparison.OrdinalIgnoreCase);
        CallTests.AssertFollowed(map, c);
    }

    [Fact]
    public void Turning_or_mirroring_the_cloth_changes_nothing_that_is_counted() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                List<(int X, int Y)> walk = Corners(new Random(seed), 4 + seed % 16);
                int length = Said(walk).DescriptionLength;
                Assert.Equal(length, Said([.. walk.Select(p => (8 - p.Y, p.X))]).DescriptionLength);
                Assert.Equal(length, Said([.. walk.Select(p => (8 - p.X, p.Y))]).DescriptionLength);
            },
            count: 200
        );

    private static readonly (int X, int Y)[] OutAndBackOnTheOtherSide =
    [
        (1, 7),
        (1, 8),
        (0, 8),
        (0, 6),
        (1, 6),
        (1, 3),
        (0, 3),
        (0, 6),
        (8, 6),
        (8, 3),
        (7, 3),
        (7, 6),
        (8, 6),
        (8, 8),
        (7, 8),
        (7, 7),
    ];

    private static readonly (int X, int Y)[] BackTheSameWay =
    [
        (6, 7),
        (3, 7),
        (3, 8),
        (1, 8),
        (1, 7),
        (3, 7),
        (1, 7),
        (1, 8),
        (3, 8),
        (3, 7),
        (6, 7),
    ];

    // A lattice of seams 1 in apart on 8 × 8 in, the outline left away.
    private static QuiltMap Cloth { get; } = MakeCloth();

    private static QuiltMap MakeCloth()
    {
        List<Junction> points = [];
        List<Seam> seams = [];
        for (int y = 0; y <= 8; y++)
        {
            for (int x = 0; x <= 8; x++)
            {
                points.Add(Point(Named($"j{x}-{y}"), x, y));
                if (x > 0)
                {
                    seams.Add(new(Named($"h{x}-{y}"), Named($"j{x - 1}-{y}"), Named($"j{x}-{y}")));
                }

                if (y > 0)
                {
                    seams.Add(new(Named($"v{x}-{y}"), Named($"j{x}-{y - 1}"), Named($"j{x}-{y}")));
                }
            }
        }

        return new(Length.FromInches(8), Length.FromInches(8), points, seams);
    }

    private static string Named(FormattableString name) => FormattableString.Invariant(name);

    private static Junction Point(string id, double x, double y) =>
        new(id, Estimate<Point<ClothSpace>>.Exact(new(x, y)));

    private static RouteCall Said(IReadOnlyList<(int X, int Y)> corners)
    {
        RouteCandidate c = Route(corners);
        RouteCall call = CallWriter.Write(Cloth, c, TestContext.Current.CancellationToken);
        CallTests.AssertFollowed(Cloth, c with { Call = call });
        return call;
    }

    private static RouteCandidate Walk(Random random, int legs) => Route(Corners(random, legs));

    private static List<(int X, int Y)> Corners(Random random, int legs)
    {
        List<(int X, int Y)> corners = [(random.Next(9), random.Next(9))];
        bool across = random.Next(2) == 0;
        for (int i = 0; i < legs; i++)
        {
            (int x, int y) = corners[^1];
            int to = random.Next(8);
            to += to >= (across ? x : y) ? 1 : 0;
            corners.Add(across ? (to, y) : (x, to));
            across = !across;
        }

        return corners;
    }

    // From corner to corner along the lattice, each unit a move.
    private static RouteCandidate Route(IReadOnlyList<(int X, int Y)> corners)
    {
        List<Move> moves = [];
        HashSet<string> stitched = [];
        for (int i = 1; i < corners.Count; i++)
        {
            (int x, int y) = corners[i - 1];
            int dx = Math.Sign(corners[i].X - x);
            int dy = Math.Sign(corners[i].Y - y);
            while ((x, y) != corners[i])
            {
                string seam = dx != 0 ? Named($"h{Math.Max(x, x + dx)}-{y}") : Named($"v{x}-{Math.Max(y, y + dy)}");
                moves.Add(
                    new(
                        stitched.Add(seam) ? MoveKind.Ditch : MoveKind.Retrace,
                        new(new(x, y), new(x + dx, y + dy)),
                        seam,
                        null
                    )
                );
                x += dx;
                y += dy;
            }
        }

        return new(
            "A",
            [new(moves)],
            new(1, 0, Length.Zero, Length.FromInches(moves.Count), Length.Zero, Length.Zero, moves.Count),
            new([], 1, Length.Zero, false)
        );
    }

    // Least length of steps i … j − 1 as one item and as a row, tried from the grammar's definition.
    private static (int Item, int Row) Brute(
        ThreadSteps s,
        int i,
        int j,
        Dictionary<(int, int), (int Item, int Row)> known
    )
    {
        if (i == j)
        {
            return (0, 0);
        }

        if (known.TryGetValue((i, j), out (int Item, int Row) found))
        {
            return found;
        }

        int item = j - i == 1 ? 1 : 1_000;
        int Bracketed(int a, int b)
        {
            (int one, int row) = Brute(s, a, b, known);
            return Math.Min(one, row + 1);
        }

        for (int n = 2; n <= j - i; n++)
        {
            int p = (j - i) / n;
            if (p * n == j - i && Enumerable.Range(i, j - i - p).All(k => s.Forward[k] == s.Forward[k + p]))
            {
                item = Math.Min(item, 1 + Bracketed(i, i + p));
            }
        }

        for (int k = 1; 2 * k <= j - i; k++)
        {
            int z = j - k;
            int inside =
                2 * k == j - i
                    ? Bracketed(i, i + k)
                    : 1 + Brute(s, i, i + k, known).Row + Brute(s, i + k, z, known).Row;
            if (Enumerable.Range(0, k).All(q => s.Forward[z + q] == CallCode.Mirrored(s.Forward[i + q])))
            {
                item = Math.Min(item, inside + 1);
            }

            foreach (bool exchanged in new[] { false, true })
            {
                bool fits = Enumerable
                    .Range(0, k)
                    .All(q =>
                    {
                        int back = s.Backward[i + k - 1 - q];
                        back = exchanged ? back : CallCode.Mirrored(back);
                        int mask = q == 0 ? ~CallCode.TurnBits : -1;
                        return (s.Counted[z + q] & mask) == (back & mask);
                    });
                item = fits ? Math.Min(item, inside + (exchanged ? 2 : 1)) : item;
            }
        }

        int row = item;
        for (int m = i + 1; m < j; m++)
        {
            row = Math.Min(row, Brute(s, i, m, known).Row + Brute(s, m, j, known).Row);
        }

        known[(i, j)] = (item, row);
        return (item, row);
    }
}
