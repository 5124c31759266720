using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;
using OverlayPlanner.Routing.Rows;

namespace OverlayPlanner.AcceptanceTests.Reference.Routing;

/// <summary>Every claim of a route file holds, as a checker says that shares nothing with the planner and that can fail.</summary>
public class RouteFileCheckerTests
{
    public static TheoryData<LineChoice, ThreadChoice, OutlineChoice> Wishes()
    {
        TheoryData<LineChoice, ThreadChoice, OutlineChoice> all = [];
        foreach (LineChoice lines in new[] { LineChoice.Seams, LineChoice.SeamsAndArcs })
        {
            foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
            {
                foreach (OutlineChoice outline in Enum.GetValues<OutlineChoice>())
                {
                    all.Add(lines, thread, outline);
                }
            }
        }

        return all;
    }

    [Theory]
    [MemberData(nameof(Wishes))]
    public void Every_claim_about_every_block_of_the_library_holds(
        LineChoice lines,
        ThreadChoice thread,
        OutlineChoice outline
    )
    {
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = BlockDrafting.Draft(block, Length.FromInches(12), 1, 1, Length.Zero);
            string file = Plan(
                map,
                new()
                {
                    Lines = lines,
                    Thread = thread,
                    Outline = outline,
                }
            );
            AssertHolds(file, outline, lines, block.Id);
        }
    }

    [Theory]
    [InlineData(ThreadChoice.Free)]
    [InlineData(ThreadChoice.One)]
    [InlineData(ThreadChoice.Mixed)]
    public void Every_claim_about_the_continuous_curve_holds(ThreadChoice thread)
    {
        int planned = 0;
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = BlockDrafting.Draft(block, Length.FromInches(12), 1, 1, Length.Zero);
            string file;
            try
            {
                file = Plan(map, new() { Lines = LineChoice.Curves, Thread = thread });
            }
            catch (InputException)
            {
                // Patches too small for an arc on each side; the planner says so instead of planning.
                continue;
            }

            AssertHolds(file, OutlineChoice.None, LineChoice.Curves, block.Id);
            planned++;
        }

        // Most blocks take the curve at 12 in.
        Assert.InRange(planned, BlockLibrary.All.Count / 2, BlockLibrary.All.Count);
    }

    [Theory]
    [InlineData("nine-patch", 3, 2, 2)]
    [InlineData("log-cabin", 2, 2, 0)]
    [InlineData("snowball", 3, 3, 1)]
    [InlineData("jacobs-ladder", 2, 2, 1.5)]
    public void Every_claim_about_whole_quilts_holds(string id, int columns, int rows, double sash)
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find(id),
            Length.FromInches(12),
            columns,
            rows,
            Length.FromInches(sash)
        );
        foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
        {
            foreach (OutlineChoice outline in Enum.GetValues<OutlineChoice>())
            {
                foreach (double price in new[] { 1.0, 7.0, 40.0, 200.0 })
                {
                    RouteWishes wishes = new()
                    {
                        Lines = LineChoice.Seams,
                        Thread = thread,
                        Outline = outline,
                        StartCostSeconds = price,
                    };
                    AssertHolds(Plan(map, wishes), outline, LineChoice.Seams, id);
                    if (thread != ThreadChoice.Mixed)
                    {
                        break;
                    }
                }
            }
        }
    }

    [Fact]
    public void Every_claim_about_random_maps_in_many_pieces_holds()
    {
        Random random = new(20_250_117);
        for (int i = 0; i < 300; i++)
        {
            QuiltMap map = RandomMaps.Lattice(random, 7, 0.25 + 0.7 * random.NextDouble());
            foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
            {
                RouteWishes wishes = new()
                {
                    Lines = LineChoice.Seams,
                    Thread = thread,
                    StartCostSeconds = 0.2 + 12 * random.NextDouble(),
                };
                AssertHolds(
                    Plan(map, wishes),
                    OutlineChoice.None,
                    LineChoice.Seams,
                    FormattableString.Invariant($"map {i}")
                );
            }

            // A wished start and end may cost something; the bound stays that of the lines.
            Point<ClothSpace> start = map.JunctionOf(map.Seams[random.Next(map.Seams.Count)].From).Place;
            Point<ClothSpace> end = map.JunctionOf(map.Seams[random.Next(map.Seams.Count)].To).Place;
            RouteWishes from = new()
            {
                Lines = LineChoice.Seams,
                Thread = ThreadChoice.One,
                Start = start,
                End = end,
            };
            AssertHolds(
                Plan(map, from),
                OutlineChoice.None,
                LineChoice.Seams,
                FormattableString.Invariant($"map {i} with ends")
            );
        }
    }

    [Fact]
    public async Task A_file_that_the_command_line_wrote_holds_and_embeds_the_map_that_it_read()
    {
        using Scratch scratch = new();
        string quilt = scratch.At("quilt.json");
        string route = scratch.At("route.json");
        (await Tool.RunAsync("blocks", "draft", "bears-paw", "--size", "12", "--out", quilt)).MustBeDone();
        (
            await Tool.RunAsync(
                "route",
                quilt,
                "--thread",
                "mixed",
                "--lines",
                "seams",
                "--outline",
                "any",
                "--out",
                route
            )
        ).MustBeDone();
        string file = await File.ReadAllTextAsync(route, TestContext.Current.CancellationToken);
        AssertHolds(file, OutlineChoice.Any, LineChoice.Seams, "bears-paw");
        JsonNode map = JsonNode.Parse(await File.ReadAllTextAsync(quilt, TestContext.Current.CancellationToken))!;
        Assert.True(JsonNode.DeepEquals(map, JsonNode.Parse(file)!["quilt"]));
    }

    [Fact]
    public void A_file_that_is_read_and_written_again_keeps_its_certificates()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("bears-paw"), Length.FromInches(12), 1, 1, Length.Zero);
        string file = Plan(map, new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One });
        byte[] again = RouteFile.Write(RouteFile.Read(Encoding.UTF8.GetBytes(file), "route.json"));
        Assert.True(JsonNode.DeepEquals(JsonNode.Parse(file), JsonNode.Parse(again)));
    }

    /// <summary>One kind of lie each, and the complaint it must raise.</summary>
    public static TheoryData<string, string> Lies() =>
        new()
        {
            { "a move is left out", "chain" },
            { "the last move is left out", "missing" },
            { "a move is turned round", "chain" },
            { "a coordinate is rounded", "coordinates" },
            { "a seam is renamed", "coordinates" },
            { "a bulge is given to a straight seam", "coordinates" },
            { "a retrace is called a ditch", "kind" },
            { "a ditch is called a retrace", "kind" },
            { "a ditch is called a frame", "kind" },
            { "a run is cut in two", "measure" },
            { "starts are one fewer", "measure" },
            { "moves are one more", "measure" },
            { "doubled length is less", "measure" },
            { "stitched length is more", "measure" },
            { "added length is claimed", "measure" },
            { "a crossing is invented", "crossing" },
            { "an odd junction is left out", "odd" },
            { "an even junction is called odd", "odd" },
            { "least starts are fewer", "starts" },
            { "the parity of a piece is wrong", "parity" },
            { "a piece is not argued", "parity" },
            { "the least doubled length is less", "bound" },
            { "the least doubled length is more", "bound" },
            { "a cut is dearer", "load" },
            { "a cut is cheaper", "bound" },
            { "a cut is left out", "bound" },
            { "a cut holds an even number of odd junctions", "cut" },
            { "a cut holds another cut twice", "cut" },
            { "a cut has a negative price", "cut" },
            { "the certificate is withheld", "certificate" },
            { "it is not called optimal", "optimal" },
            { "the thread is another", "optimal" },
            { "a longer route is called optimal", "optimal" },
        };

    [Theory]
    [MemberData(nameof(Lies))]
    public void A_lie_is_found(string lie, string code)
    {
        // Nine patch, one thread: 24 in doubled in one run (handbook 1.4).
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 1, 1, Length.Zero);
        JsonObject file = JsonNode
            .Parse(Plan(map, new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One }))!
            .AsObject();
        JsonObject c = file["candidates"]![0]!.AsObject();
        Assert.Equal(24.0, c["proof"]!["leastDoubledInches"]!.GetValue<double>(), 1e-9);
        Tell(lie, c);
        IReadOnlyList<string> complaints = RouteFileChecker.Check(
            file.ToJsonString(),
            RouteFileChecker.Outline.None,
            RouteFileChecker.Seams.Alone
        );
        Assert.Contains(complaints, s => s.StartsWith(code + ":", StringComparison.Ordinal));
    }

    [Fact]
    public void Crossing_threads_are_counted()
    {
        // A plus sign stitched as two straight passes in one run each crosses once at its centre.
        const string Four = """
            {"format":"overlayplanner.route","version":1,"unit":"in","quilt":{"junctions":[
            {"id":"c","x":0,"y":0},{"id":"n","x":0,"y":-1},{"id":"e","x":1,"y":0},{"id":"s","x":0,"y":1},{"id":"w","x":-1,"y":0}],
            "seams":[{"id":"1","from":"n","to":"c","bulge":0,"role":"seam"},{"id":"2","from":"c","to":"s","bulge":0,"role":"seam"},
            {"id":"3","from":"w","to":"c","bulge":0,"role":"seam"},{"id":"4","from":"c","to":"e","bulge":0,"role":"seam"}]},
            "candidates":[{"name":"A","runs":[
            {"moves":[{"kind":"ditch","seam":"1","from":[0,-1],"to":[0,0],"bulge":0},{"kind":"ditch","seam":"FIRST","from":[0,0],"to":[P],"bulge":0}]},
            {"moves":[{"kind":"ditch","seam":"3","from":[-1,0],"to":[0,0],"bulge":0},{"kind":"ditch","seam":"SECOND","from":[0,0],"to":[Q],"bulge":0}]}],
            "measures":{"starts":2,"crossings":COUNT,"doubledInches":0,"stitchedInches":4,"addedInches":0,"missedInches":0,"moves":4},
            "proof":{"oddJunctions":["n","e","s","w"],"leastStarts":2,"leastDoubledInches":0,"optimal":true,"thread":"free",
            "parity":[{"at":"c","odd":4,"starts":2}],"certificate":{"cuts":[]}}}]}
            """;
        Assert.Empty(Check(Four, ("2", "0,1"), ("4", "1,0"), 1));
        Assert.Empty(Check(Four, ("4", "1,0"), ("2", "0,1"), 0));
        Assert.Single(Check(Four, ("2", "0,1"), ("4", "1,0"), 0), "crossing: A: 0 claimed, 1 found: at c");

        static IReadOnlyList<string> Check(string text, (string, string) first, (string, string) second, int count) =>
            RouteFileChecker.Check(
                text.Replace("FIRST", first.Item1, StringComparison.Ordinal)
                    .Replace("P]", first.Item2 + "]", StringComparison.Ordinal)
                    .Replace("SECOND", second.Item1, StringComparison.Ordinal)
                    .Replace("Q]", second.Item2 + "]", StringComparison.Ordinal)
                    .Replace("COUNT", count.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal),
                RouteFileChecker.Outline.None,
                RouteFileChecker.Seams.Alone
            );
    }

    [Fact]
    public void The_checker_knows_nothing_of_the_planner()
    {
        string source = File.ReadAllText(
            Path.Combine(Root, "tests", "OverlayPlanner.AcceptanceTests", "Reference", "Routing", "RouteFileChecker.cs")
        );
        string[] usings = [.. source.Split('\n').Where(l => l.StartsWith("using ", StringComparison.Ordinal))];
        Assert.Equal(["using System.Text.Json;"], usings.Select(u => u.Trim()));
        Assert.Single(source.Split("OverlayPlanner.").Skip(1));
    }

    private static void Tell(string lie, JsonObject c)
    {
        JsonArray moves = c["runs"]![0]!["moves"]!.AsArray();
        JsonObject measures = c["measures"]!.AsObject();
        JsonObject proof = c["proof"]!.AsObject();
        JsonArray cuts = proof["certificate"]!["cuts"]!.AsArray();
        JsonNode retrace = moves.First(m => m!["kind"]!.GetValue<string>() == "retrace")!;
        switch (lie)
        {
            case "a move is left out":
                moves.RemoveAt(moves.Count / 2);
                break;
            case "the last move is left out":
                // The last pass of a least route is never one over a line stitched before.
                moves.RemoveAt(moves.Count - 1);
                break;
            case "a move is turned round":
                JsonNode from = moves[3]!["from"]!.DeepClone();
                moves[3]!["from"] = moves[3]!["to"]!.DeepClone();
                moves[3]!["to"] = from;
                break;
            case "a coordinate is rounded":
                moves[0]!["from"]![0] = moves[0]!["from"]![0]!.GetValue<double>() + 1e-9;
                break;
            case "a seam is renamed":
                moves[0]!["seam"] = moves[1]!["seam"]!.DeepClone();
                break;
            case "a bulge is given to a straight seam":
                moves[0]!["bulge"] = 0.1;
                break;
            case "a retrace is called a ditch":
                retrace["kind"] = "ditch";
                break;
            case "a ditch is called a retrace":
                moves[0]!["kind"] = "retrace";
                break;
            case "a ditch is called a frame":
                moves[0]!["kind"] = "frame";
                break;
            case "a run is cut in two":
                JsonArray second = [];
                while (moves.Count > 5)
                {
                    JsonNode m = moves[5]!;
                    moves.RemoveAt(5);
                    second.Add(m);
                }

                c["runs"]!.AsArray().Add(new JsonObject { ["moves"] = second });
                break;
            case "starts are one fewer":
                Add(measures, "starts", -1);
                break;
            case "moves are one more":
                Add(measures, "moves", 1);
                break;
            case "doubled length is less":
                measures["doubledInches"] = 23.9;
                break;
            case "stitched length is more":
                measures["stitchedInches"] = 100;
                break;
            case "added length is claimed":
                measures["addedInches"] = 1;
                break;
            case "a crossing is invented":
                Add(measures, "crossings", 1);
                break;
            case "an odd junction is left out":
                proof["oddJunctions"]!.AsArray().RemoveAt(0);
                break;
            case "an even junction is called odd":
                proof["oddJunctions"]!.AsArray().Add("j1");
                break;
            case "least starts are fewer":
                Add(proof, "leastStarts", -1);
                break;
            case "the parity of a piece is wrong":
                proof["parity"]![0]!["odd"] = 6;
                break;
            case "a piece is not argued":
                proof["parity"]!.AsArray().Clear();
                break;
            case "the least doubled length is less":
                proof["leastDoubledInches"] = 20.0;
                break;
            case "the least doubled length is more":
                proof["leastDoubledInches"] = 24.1;
                break;
            case "a cut is dearer":
                cuts[0]!["inches"] = cuts[0]!["inches"]!.GetValue<double>() + 5;
                break;
            case "a cut is cheaper":
                // One of eight alike: the others still set what an end pays.
                cuts[0]!["inches"] = cuts[0]!["inches"]!.GetValue<double>() - 0.01;
                break;
            case "a cut is left out":
                RemoveOuterCut(cuts);
                break;
            case "a cut holds an even number of odd junctions":
                string other = cuts[1]!["junctions"]![0]!.GetValue<string>();
                cuts[0]!["junctions"]!.AsArray().Add(other);
                break;
            case "a cut holds another cut twice":
                cuts[^1]!["within"]!.AsArray().Add(0);
                cuts[^1]!["within"]!.AsArray().Add(0);
                break;
            case "a cut has a negative price":
                cuts[0]!["inches"] = -1;
                break;
            case "the certificate is withheld":
                proof["certificate"] = null;
                break;
            case "it is not called optimal":
                proof["optimal"] = false;
                break;
            case "the thread is another":
                // With a free thread nothing may be doubled and four starts are the least.
                proof["thread"] = "free";
                break;
            case "a longer route is called optimal":
                Lengthen(c, moves, measures);
                break;
            default:
                Assert.Fail($"no such lie: {lie}");
                break;
        }
    }

    private static void Add(JsonObject o, string name, int more) => o[name] = o[name]!.GetValue<int>() + more;

    private static void RemoveOuterCut(JsonArray cuts)
    {
        HashSet<int> within = [.. cuts.SelectMany(c => c!["within"]!.AsArray()).Select(w => w!.GetValue<int>())];
        int last = Enumerable.Range(0, cuts.Count).Last(i => !within.Contains(i));
        Assert.Equal(cuts.Count - 1, last);
        cuts.RemoveAt(last);
    }

    // There and back again over the first move, truthfully measured.
    private static void Lengthen(JsonObject c, JsonArray moves, JsonObject measures)
    {
        JsonObject there = moves[^1]!.DeepClone().AsObject();
        JsonObject back = moves[^1]!.DeepClone().AsObject();
        back["from"] = there["to"]!.DeepClone();
        back["to"] = there["from"]!.DeepClone();
        there["kind"] = "retrace";
        back["kind"] = "retrace";
        moves.Add((JsonNode)back);
        moves.Add((JsonNode)there);
        double dx = there["to"]![0]!.GetValue<double>() - there["from"]![0]!.GetValue<double>();
        double dy = there["to"]![1]!.GetValue<double>() - there["from"]![1]!.GetValue<double>();
        double more = 2 * Math.Sqrt(dx * dx + dy * dy);
        measures["doubledInches"] = measures["doubledInches"]!.GetValue<double>() + more;
        measures["stitchedInches"] = measures["stitchedInches"]!.GetValue<double>() + more;
        Add(measures, "moves", 2);
        Assert.True(c["proof"]!["optimal"]!.GetValue<bool>());
    }

    private static string Plan(QuiltMap map, RouteWishes wishes) =>
        Encoding.UTF8.GetString(
            RouteFile.Write(RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken).Route)
        );

    [Theory]
    [InlineData(ThreadChoice.Free)]
    [InlineData(ThreadChoice.One)]
    [InlineData(ThreadChoice.Mixed)]
    public void Every_claim_about_rows_two_threads_and_finished_routes_holds(ThreadChoice thread)
    {
        CancellationToken cancellation = TestContext.Current.CancellationToken;
        foreach (string block in new[] { "nine-patch", "pinwheel", "sawtooth-star", "churn-dash", "drunkards-path" })
        {
            BlockDraft draft = BlockLibrary.Find(block);
            QuiltMap quilt = BlockDrafting.Draft(draft, Length.FromInches(12), 3, 2, Length.FromInches(2));
            foreach (LineChoice lines in new[] { LineChoice.Seams, LineChoice.SeamsAndArcs })
            {
                RouteWishes wishes = new() { Lines = lines, Thread = thread };
                RowWishes rows = new(wishes) { LinePerBobbin = Length.FromInches(400) };
                AssertHolds(
                    Written(RowPlanner.Plan(quilt, rows, cancellation).Route),
                    OutlineChoice.None,
                    lines,
                    block
                );

                QuiltMap one = BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);
                Route route = RoutePlanner.Plan(one, wishes, cancellation).Route;
                IReadOnlyList<Move> moves = route.Candidates[0].Runs[0].Moves;
                Point<ClothSpace>[] stroke =
                [
                    .. moves
                        .Take(moves.Count / 2)
                        .SelectMany(m => Enumerable.Range(0, 21).Select(i => m.Path.PointAt(i / 20.0))),
                ];
                DrawnPath begun = DrawnRoute.Follow(one, [stroke], cancellation);
                foreach (NeedleThread needle in Enum.GetValues<NeedleThread>())
                {
                    FinishWishes rest = new(wishes) { Needle = needle };
                    AssertHolds(
                        Written(RouteFinisher.Finish(one, begun, rest, cancellation).Route),
                        OutlineChoice.None,
                        lines,
                        block
                    );
                }

                if (lines == LineChoice.SeamsAndArcs)
                {
                    foreach (DesignTravel travel in Enum.GetValues<DesignTravel>())
                    {
                        AssertHolds(
                            Written(TwoThreads.Plan(one, wishes, travel, cancellation).Route),
                            OutlineChoice.None,
                            lines,
                            block
                        );
                    }
                }
            }
        }

        static string Written(Route route) => Encoding.UTF8.GetString(RouteFile.Write(route));
    }

    private static void AssertHolds(string file, OutlineChoice outline, LineChoice lines, string name)
    {
        IReadOnlyList<string> complaints = RouteFileChecker.Check(
            file,
            outline switch
            {
                OutlineChoice.None => RouteFileChecker.Outline.None,
                OutlineChoice.Any => RouteFileChecker.Outline.Any,
                _ => RouteFileChecker.Outline.Last,
            },
            lines switch
            {
                LineChoice.Seams => RouteFileChecker.Seams.Alone,
                LineChoice.SeamsAndArcs => RouteFileChecker.Seams.WithLines,
                _ => RouteFileChecker.Seams.Replaced,
            }
        );
        Assert.True(complaints.Count == 0, $"{name}: {string.Join("; ", complaints.Take(5))}");
    }

    private static string Root
    {
        get
        {
            DirectoryInfo? at = new(AppContext.BaseDirectory);
            while (at is not null && !File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
            {
                at = at.Parent;
            }

            return at?.FullName ?? throw new InvalidOperationException("Run the tests from a checkout.");
        }
    }
}
