using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing.Order;

public class ContradictionTests
{
    public static TheoryData<string, string, string> Cases { get; } =
        new()
        {
            // Which wishes, the two that are named, and a price or a way out.
            { "last-and-skip", "--last and --skip", "takes 4 in more" },
            { "only-and-skip", "--only and --skip", "takes 4 in more" },
            { "last-and-only", "--last and --only", "costs nothing" },
            { "outline-last-and-none", "--last outline and --outline none", "takes 48 in more" },
            { "last-outline-seam", "--last and --outline none", "takes 48 in more" },
            { "anchor-first-and-round-last", "--anchor-first and --round-last", "round the block last" },
            { "finish-one-block", "--finish-blocks and --block b1", "4 starts" },
            { "finish-no-blocks", "--finish-blocks and a map without blocks", "4 starts" },
            { "start-on-skipped", "--start and --skip", "takes 4 in more" },
            { "end-on-outline", "--end and --outline none", "2 in away" },
            { "start-outside-only", "--start and --only", "takes 4 in more" },
            { "clear-and-curves", "--clear and --lines curves", "costs nothing" },
            { "skip-and-curves", "--skip and --lines curves", "costs nothing" },
        };

    [Theory]
    [MemberData(nameof(Cases))]
    public void Contradictory_wishes_are_named_with_what_each_costs(string which, string two, string price)
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 1, 1, Length.Zero);
        string seam = SeamAt(map, 2, 4);
        string other = SeamAt(map, 10, 4);
        string outline = SeamAt(map, 2, 0);
        RouteWishes wishes = which switch
        {
            "last-and-skip" => new() { LastSeams = [seam], Skip = [seam] },
            "only-and-skip" => new() { Only = [seam], Skip = [seam] },
            "last-and-only" => new() { Only = [seam], LastSeams = [other] },
            "outline-last-and-none" => new() { LastOutline = true },
            "last-outline-seam" => new() { LastSeams = [outline] },
            "anchor-first-and-round-last" => new() { AnchorFirst = true, RoundLast = true },
            "finish-one-block" => new() { FinishBlocks = true, Block = "b1" },
            "finish-no-blocks" => new() { FinishBlocks = true },
            "start-on-skipped" => new() { Skip = [seam], Start = new(2, 4) },
            "end-on-outline" => new() { End = new(2, 0) },
            "start-outside-only" => new() { Only = [other], Start = new(2, 4) },
            "clear-and-curves" => new() { Clear = Length.FromInches(0.5), Lines = LineChoice.Curves },
            "skip-and-curves" => new() { Skip = [seam], Lines = LineChoice.Curves },
            _ => throw new ArgumentOutOfRangeException(nameof(which)),
        };
        QuiltMap on = which == "finish-no-blocks" ? map.With(blocks: []) : map;
        InputException e = Assert.Throws<InputException>(() =>
            RoutePlanner.Plan(on, wishes, TestContext.Current.CancellationToken)
        );
        Assert.Equal(two, e.Where);
        Assert.Contains(price, e.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void Unknown_seams_are_refused_in_one_line_with_those_that_look_like_them()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 1, 1, Length.Zero);
        InputException e = Assert.Throws<InputException>(() =>
            RoutePlanner.Plan(map, new() { Skip = ["s1", "S3", "x"] }, TestContext.Current.CancellationToken)
        );
        Assert.Equal("--skip", e.Where);
        Assert.Contains("\"S3\", \"x\"", e.What, StringComparison.Ordinal);
        Assert.Contains("s3", e.Remedy, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--bulky")]
    [InlineData("--drag")]
    [InlineData("--clear")]
    [InlineData("--hop-cost")]
    public void Numbers_out_of_range_are_refused_by_the_option_s_name(string option)
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 1, 1, Length.Zero);
        RouteWishes wishes = option switch
        {
            "--bulky" => new() { BulkyFrom = 2 },
            "--drag" => new() { Drag = Length.FromInches(-1) },
            "--clear" => new() { Clear = Length.FromInches(4) },
            _ => new() { HopCostSeconds = double.NaN },
        };
        Assert.Equal(
            option,
            Assert
                .Throws<InputException>(() => RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken))
                .Where
        );
    }

    private static string SeamAt(QuiltMap map, double x, double y) =>
        map.Seams.Single(s => map.EdgeOf(s).Nearest(new(x, y)).Distance < 1e-9).Id;
}
