using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Practice;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Rendering.Sheets;

namespace OverlayPlanner.Workflows;

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
        SheetWords words,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(words);
        SheetWishes wishes = words.ToWishes();
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing the sheets",
            (r, c) => TraceSheets.Render(r, c, wishes, cancellation),
            cancellation
        );
    }

    /// <summary>Writes the stitch card.</summary>
    /// <exception cref="InputException">The route, the paper or the target can't be used.</exception>
    public static Written Card(
        string route,
        string? candidate,
        CardWords words,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(words);
        Rendering.Cards.CardWishes wishes = words.ToWishes();
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing the card",
            (r, c) => StitchCard.Render(r, c, wishes, cancellation),
            cancellation
        );
    }

    /// <summary>Writes pages to practise the path on.</summary>
    /// <exception cref="InputException">The route, the block, the paper or the target can't be used.</exception>
    public static Written Practice(
        string route,
        string? candidate,
        PracticeWords words,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(words);
        PracticeWishes wishes = words.ToWishes();
        return Write(
            route,
            candidate,
            output,
            files,
            progress,
            "Drawing the practice pages",
            (r, c) => PracticePages.Render(r, c, wishes, cancellation),
            cancellation
        );
    }

    /// <summary>
    /// Writes a plotter's file, or, where the machine has a bed and the quilt is larger, one for each panel: before the name's
    /// ending stand its row and column, from 1 at the top left.
    /// </summary>
    /// <exception cref="InputException">The route, the machine or a target can't be used.</exception>
    public static Written Plot(
        string route,
        string? candidate,
        PlotWords words,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(words);
        ArgumentNullException.ThrowIfNull(files);
        PlotterWishes wishes = words.ToWishes(FormatOf(output));
        if (wishes.Device.BedWidth is null)
        {
            return Write(
                route,
                candidate,
                output,
                files,
                progress,
                "Drawing for the plotter",
                (r, c) => PlotterFile.Render(r, c, wishes, cancellation),
                cancellation
            );
        }

        Route read = InputFiles.ReadRoute(route);
        progress?.Report("Drawing for the plotter");
        IReadOnlyList<PlotterPanel> panels = PlotterFile.RenderPanels(
            read,
            read.CandidateOf(candidate),
            wishes,
            cancellation
        );
        string stem = Path.Combine(Path.GetDirectoryName(output) ?? "", Path.GetFileNameWithoutExtension(output));
        foreach (PlotterPanel panel in panels)
        {
            files.Add(
                panels.Count == 1
                    ? output
                    : string.Create(
                        System.Globalization.CultureInfo.InvariantCulture,
                        $"{stem}-{panel.Row + 1}-{panel.Column + 1}{Path.GetExtension(output)}"
                    ),
                panel.File.Bytes
            );
        }

        files.Commit(cancellation);
        return new(files.Paths, [.. panels.SelectMany(p => p.File.Findings)]);
    }

    /// <summary>The endings that <see cref="Picture"/> knows.</summary>
    public static IReadOnlyList<string> PictureEndings { get; } = [".png", ".svg", ".webp", ".gif"];

    /// <summary>Writes a picture of the route; a name ending in .webp or .gif gets the needle's way as a moving picture.</summary>
    /// <param name="widthPx">Pixels across; an SVG has none.</param>
    /// <exception cref="InputException">The route, the width, the ending or the target can't be used.</exception>
    public static Written Picture(
        string route,
        string? candidate,
        int widthPx,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        Func<Route, RouteCandidate, RenderedFile> render = Path.GetExtension(output).ToLowerInvariant() switch
        {
            ".png" => (r, c) => RoutePicture.Render(r, c, widthPx, cancellation),
            ".svg" => (r, c) => RoutePicture.RenderSvg(r, c, cancellation),
            ".webp" => (r, c) => NeedleFilm.Render(r, c, FilmFormat.WebP, widthPx, cancellation),
            ".gif" => (r, c) => NeedleFilm.Render(r, c, FilmFormat.Gif, widthPx, cancellation),
            _ => throw new InputException(
                $"The ending of \"{Path.GetFileName(output)}\" is no picture format",
                "--out",
                $"Give a name that ends in {string.Join(", ", PictureEndings)}."
            ),
        };
        return Write(route, candidate, output, files, progress, "Drawing the picture", render, cancellation);
    }

    /// <summary>
    /// Writes the projector's picture; for <c>each</c> step one, to be stepped through: before the name's ending stands its number.
    /// </summary>
    /// <param name="step">The step that is stitched next, as typed; <c>each</c>; or null for the whole route at its beginning.</param>
    /// <exception cref="InputException">The route, the profile, the step or a target can't be used.</exception>
    public static Written Frame(
        string route,
        string? candidate,
        string projector,
        string? step,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        ProjectorProfile profile = ProjectorProfile.Read(InputFiles.ReadAll(projector), projector);
        RenderedFile Draw(Route r, RouteCandidate c, int? now) =>
            ProjectorFrame.Render(
                r,
                c,
                profile.ProjectorFromCloth,
                profile.Width,
                profile.Height,
                now,
                profile.Bend is { } bend ? bend.Apply : null,
                cancellation
            );

        const string Doing = "Drawing the projector's picture";
        if (step != "each")
        {
            int? now = step is null ? null : StepOf(step);
            return Write(route, candidate, output, files, progress, Doing, (r, c) => Draw(r, c, now), cancellation);
        }

        Route read = InputFiles.ReadRoute(route);
        RouteCandidate chosen = read.CandidateOf(candidate);
        int steps = StitchStep.Of(read.Quilt, chosen).Count;
        string stem = Path.Combine(Path.GetDirectoryName(output) ?? "", Path.GetFileNameWithoutExtension(output));
        List<Finding> findings = [];
        for (int n = 1; n <= steps; n++)
        {
            progress?.Report(Doing);
            RenderedFile frame = Draw(read, chosen, n);
            files.Add(
                string.Create(
                    System.Globalization.CultureInfo.InvariantCulture,
                    $"{stem}-{n:000}{Path.GetExtension(output)}"
                ),
                frame.Bytes
            );
            findings.AddRange(n == 1 ? frame.Findings : []);
        }

        files.Commit(cancellation);
        return new(files.Paths, findings);
    }

    private static int StepOf(string typed) =>
        int.TryParse(
            typed,
            System.Globalization.NumberStyles.None,
            System.Globalization.CultureInfo.InvariantCulture,
            out int step
        )
            ? step
            : throw new InputException(
                $"\"{typed}\" is no step",
                "--step",
                "Give a step's number, or each for a picture of every step."
            );

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
