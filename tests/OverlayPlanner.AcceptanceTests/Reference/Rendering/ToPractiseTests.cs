using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Printing;
using SkiaSharp;
using UglyToad.PdfPig;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>Practice pages and pictures of a kept quilt, read back by PdfPig and Skia's decoders.</summary>
public sealed class ToPractiseTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-practise-").FullName;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void Pages_and_pictures_lie_in_the_quilt_s_folder_and_other_readers_open_them()
    {
        (_, KeptQuilt quilt) = Planned();
        IReadOnlyList<Block> blocks = ToPractise.Blocks(quilt, null);
        Assert.Equal(["shoofly", "ohio-star"], blocks.Select(b => b.Pattern));
        Block block = blocks[0];
        foreach ((string file, string kind) in ToPractise.Pages)
        {
            ToPractise.Page(quilt, null, new PracticeWords("a4", kind, block.Id), cancellation: Stop);
            using PdfDocument pdf = PdfDocument.Open(quilt.PathOf(file));
            Assert.True(pdf.NumberOfPages > 0);
            Assert.Contains("Shoofly", pdf.GetPage(1).Text, StringComparison.OrdinalIgnoreCase);
        }

        foreach (string file in ToPractise.Pictures)
        {
            ToPractise.Picture(quilt, null, file, cancellation: Stop);
        }

        using SKCodec still = SKCodec.Create(quilt.PathOf("path.png"));
        using SKCodec film = SKCodec.Create(quilt.PathOf("path.webp"));
        Assert.InRange(still.FrameCount, 0, 1);
        Assert.InRange(film.FrameCount, 10, int.MaxValue);
    }

    [Fact]
    public void What_was_drawn_of_one_choice_goes_when_another_is_taken_and_stays_when_the_same_is()
    {
        (QuiltStore store, KeptQuilt quilt) = Planned();
        string[] names = [.. QuiltSteps.RouteOf(quilt)!.Candidates.Select(c => c.Name)];
        quilt = QuiltSteps.Choose(store, quilt, names[0]);
        ToPractise.Picture(quilt, names[0], "path.svg", cancellation: Stop);
        QuiltSteps.Plot(quilt, names[0], ".dxf", cancellation: Stop);

        quilt = QuiltSteps.Choose(store, quilt, names[0]);
        Assert.True(File.Exists(quilt.PathOf("path.svg")));
        quilt = QuiltSteps.Choose(store, quilt, names[1]);
        Assert.False(File.Exists(quilt.PathOf("path.svg")));
        Assert.False(File.Exists(quilt.PathOf("route.dxf")));
        Assert.Equal(names[1], QuiltSteps.ChoiceOf(quilt));
    }

    [Fact]
    public void Only_blocks_in_which_the_choice_stitches_are_offered()
    {
        (_, KeptQuilt quilt) = Planned("b1");
        Assert.Equal(2, QuiltSteps.MapOf(quilt).Blocks.Count);
        Assert.Equal("b1", Assert.Single(ToPractise.Blocks(quilt, null)).Id);
        Assert.Throws<InputException>(() => ToPractise.Blocks(quilt, "nobody"));
        Assert.Throws<InputException>(() =>
            ToPractise.Page(quilt, null, new PracticeWords(Kind: "poster"), cancellation: Stop)
        );
    }

    private (QuiltStore Store, KeptQuilt Quilt) Planned(string? block = null)
    {
        QuiltStore store = new(root);
        QuiltMap map = SettingDraft.Draft(
            new()
            {
                Columns = 2,
                Rows = 1,
                Block = Length.FromInches(8),
                PlaceAt = (_, column) => new(BlockLibrary.Find(column == 0 ? "shoofly" : "ohio-star")),
            }
        );
        KeptQuilt quilt = store.Save(store.Create("Practised"), (QuiltStore.MapFile, QuiltMapFile.Write(map)));
        PlanWishes wishes = new() { Block = block, Lines = "seams+arcs" };
        return (store, QuiltSteps.Plan(store, quilt, wishes, cancellation: Stop).Quilt);
    }
}
