using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Rendering.Sheets;

namespace OverlayPlanner.Workflows;

/// <summary>What a plotter draws beside the route.</summary>
public enum PlotMarks
{
    /// <summary>Nothing.</summary>
    None,

    /// <summary>Marks in the corners of the mapped area.</summary>
    Corners,
}

/// <summary>From a route to paper, plotter and light.</summary>
public static class RenderRoute
{
    /// <summary>The endings that <see cref="Plot"/> knows, with their dot.</summary>
    public static IReadOnlyList<string> PlotterEndings { get; } =
    [.. Enum.GetNames<PlotterFormat>().Select(n => "." + n.ToLowerInvariant())];

    /// <summary>Writes true-size trace sheets.</summary>
    /// <exception cref="InputException">The route, the paper or the target can't be used.</exception>
    public static Written Sheets(
        string route,
        string? candidate,
        string paper,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        PaperSize size = PaperSize.Parse(paper);
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing the sheets",
            (r, c) => TraceSheets.Render(r, c, new SheetWishes { Paper = size }, cancellation),
            cancellation
        );
    }

    /// <summary>Writes the stitch card.</summary>
    /// <exception cref="InputException">The route, the paper or the target can't be used.</exception>
    public static Written Card(
        string route,
        string? candidate,
        string paper,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        PaperSize size = PaperSize.Parse(paper);
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing the card",
            (r, c) => StitchCard.Render(r, c, new Rendering.Cards.CardWishes { Paper = size }, cancellation),
            cancellation
        );
    }

    /// <summary>Writes a plotter's file; its ending says the format.</summary>
    /// <exception cref="InputException">The route or the target can't be used, or the ending is unknown.</exception>
    public static Written Plot(
        string route,
        string? candidate,
        PlotMarks marks,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        PlotterFormat format = FormatOf(output);
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing for the plotter",
            (r, c) =>
                PlotterFile.Render(
                    r,
                    c,
                    format,
                    marks == PlotMarks.Corners ? PlotterMarks.Corners : PlotterMarks.None,
                    cancellation
                ),
            cancellation
        );
    }

    /// <summary>Writes the projector's picture.</summary>
    /// <exception cref="InputException">The route, the profile or the target can't be used.</exception>
    public static Written Frame(
        string route,
        string? candidate,
        string projector,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ProjectorProfile profile = ProjectorProfile.Read(InputFiles.ReadAll(projector), projector);
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing the projector's picture",
            (r, c) =>
                ProjectorFrame.Render(r, c, profile.ProjectorFromCloth, profile.Width, profile.Height, cancellation),
            cancellation
        );
    }

    private static PlotterFormat FormatOf(string path) =>
        Enum.TryParse(Path.GetExtension(path).TrimStart('.'), ignoreCase: true, out PlotterFormat format)
        && Enum.IsDefined(format)
            ? format
            : throw new InputException(
                $"The ending of \"{Path.GetFileName(path)}\" is no plotter format",
                "--out",
                $"Give a name that ends in {string.Join(", ", PlotterEndings)}."
            );

    private static Written Write(
        string routePath,
        string? name,
        string output,
        OutputFiles files,
        IProgress<string>? progress,
        string doing,
        Func<Route, RouteCandidate, RenderedFile> render,
        CancellationToken cancellation
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        Route route = InputFiles.ReadRoute(routePath);
        RouteCandidate candidate = route.CandidateOf(name);
        progress?.Report(doing);
        RenderedFile rendered = render(route, candidate);
        files.Add(output, rendered.Bytes);
        files.Commit(cancellation);
        return new(files.Paths, rendered.Findings);
    }
}
