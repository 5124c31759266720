using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Printing;

/// <summary>What of a choice is there to learn it by, made into the quilt's folder: pages for the pencil, pictures, a film.</summary>
public static class ToPractise
{
    /// <summary>Pixels across of pictures and films: sharp on a phone and on a page of a letter.</summary>
    private const int PictureWidth = 1_200;
    private const int FilmWidth = 720;

    /// <summary>The pages: file and kind, in the words of <see cref="PracticeWords"/>.</summary>
    public static IReadOnlyList<(string File, string Kind)> Pages { get; } =
    [("practice.pdf", "sheet"), ("class.pdf", "class"), ("strip.pdf", "strip")];

    /// <summary>The pictures; the last moves.</summary>
    public static IReadOnlyList<string> Pictures { get; } = ["path.png", "path.svg", "path.webp"];

    /// <summary>All of them.</summary>
    public static IReadOnlyList<string> Files { get; } = [.. Pages.Select(p => p.File), .. Pictures];

    /// <summary>One block of each kind in which a choice stitches, in the map's order; a block of no known kind stands for itself.</summary>
    /// <exception cref="Geometry.InputException">There is no route, or no such choice.</exception>
    public static IReadOnlyList<Block> Blocks(KeptQuilt quilt, string? choice)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        Route route = InputFiles.ReadRoute(QuiltSteps.RoutePathOf(quilt));
        HashSet<string> stitched = [.. route.CandidateOf(choice).AllMoves.Select(m => m.Block).OfType<string>()];
        return
        [
            .. route.Quilt.Blocks.Where(b => stitched.Contains(b.Id)).DistinctBy(b => b.Pattern ?? b.Called ?? b.Id),
        ];
    }

    /// <summary>Writes practice pages into the quilt's folder.</summary>
    /// <exception cref="Geometry.InputException">There is no route, no such kind, or nothing is stitched in the block.</exception>
    public static Written Page(
        KeptQuilt quilt,
        string? choice,
        PracticeWords words,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(quilt);
        ArgumentNullException.ThrowIfNull(words);
        _ = words.ToWishes();
        return RenderRoute.Practice(
            QuiltSteps.RoutePathOf(quilt),
            choice,
            words,
            quilt.PathOf(Pages.First(p => p.Kind == words.Kind).File),
            MadeFromRoute.Begin(quilt),
            progress,
            cancellation
        );
    }

    /// <summary>Writes a picture of the choice, or the film of its needle, into the quilt's folder.</summary>
    /// <param name="file">One of <see cref="Pictures"/>.</param>
    /// <exception cref="Geometry.InputException">There is no route.</exception>
    public static Written Picture(
        KeptQuilt quilt,
        string? choice,
        string file,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(quilt);
        return RenderRoute.Picture(
            QuiltSteps.RoutePathOf(quilt),
            choice,
            file.EndsWith(".webp", StringComparison.Ordinal) ? FilmWidth : PictureWidth,
            quilt.PathOf(file),
            MadeFromRoute.Begin(quilt),
            progress,
            cancellation
        );
    }
}
