using System.Text;
using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows;

/// <summary>What the demo made.</summary>
/// <param name="Written">Files and findings.</param>
/// <param name="Map">The map found in the photograph.</param>
/// <param name="Route">The routes of one block.</param>
/// <param name="WholeTop">The route of the whole top.</param>
/// <param name="Guide">For each file: its name and what to look at.</param>
public sealed record DemoResult(
    Written Written,
    QuiltMap Map,
    Route Route,
    Route WholeTop,
    IReadOnlyList<(string File, string Look)> Guide
);

/// <summary>The whole job on the bundled sample photograph, a made scene, into a folder.</summary>
public static class RunDemo
{
    private const string Manifest = "demo-manifest.json";
    private const string Format = "overlayplanner.demo";

    /// <summary>Runs every stage. Files of an earlier demo in that folder are replaced; nothing else is.</summary>
    /// <param name="folder">Made where it does not exist.</param>
    /// <exception cref="InputException">The folder can't be made or written, or holds a file of its own by one of the names.</exception>
    public static DemoResult Run(
        string folder,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(folder);
        OutputFiles.MakeFolder(folder);
        HashSet<string> earlier = ReadManifest(folder);
        OutputFiles files = new(path => earlier.Contains(Path.GetFileName(path)));
        string At(string name) => Path.Combine(folder, name);
        foreach ((string name, _) in Guide)
        {
            files.Claim(At(name));
        }

        Sample sample = Sample.Load();
        List<Finding> findings = [];
        string photoPath = Path.Combine(Path.GetTempPath(), $"overlayplanner-{Guid.NewGuid():N}.jpg");
        MappedQuilt mapped;
        try
        {
            File.WriteAllBytes(photoPath, sample.Jpeg);
            mapped = MapQuilt.Run(
                new MapWishes
                {
                    Photo = photoPath,
                    Corners = sample.Corners,
                    Width = sample.Width,
                    Height = sample.Height,
                },
                progress,
                cancellation
            );
        }
        finally
        {
            File.Delete(photoPath);
        }

        findings.AddRange(mapped.Findings);
        QuiltMap map = mapped.Map;
        progress?.Report("Planning the routes");
        RoutePlan plan = RoutePlanner.Plan(
            map,
            new RouteWishes { Block = map.Blocks.Count > 0 ? map.Blocks[0].Id : null },
            cancellation
        );
        RoutePlan top = RoutePlanner.Plan(map, new RouteWishes { Candidates = 1 }, cancellation);
        findings.AddRange(plan.Findings);
        Route route = plan.Route;
        RouteCandidate best = route.CandidateOf(null);

        progress?.Report("Drawing sheets, card and pictures");
        ProjectorProfile projector = DemoProjector(
            Box<ClothSpace>.Around(best.AllMoves.SelectMany(m => new[] { m.Path.From, m.Path.To }))
        );
        files.Add(At("photo.jpg"), sample.Jpeg);
        files.Add(At("quilt.json"), QuiltMapFile.Write(map));
        Add("preview.png", MapPreview.Render(mapped.Rectified, map, mapped.Margin, cancellation));
        files.Add(At("route.json"), RouteFile.Write(route));
        Add("route.png", RoutePicture.Render(route, best, 1400, cancellation));
        Add(
            "sheets.pdf",
            TraceSheets.Render(route, best, new SheetWishes { Paper = PaperSize.Parse("letter") }, cancellation)
        );
        Add(
            "card.pdf",
            StitchCard.Render(
                route,
                best,
                new Rendering.Cards.CardWishes { Paper = PaperSize.Parse("letter") },
                cancellation
            )
        );
        Add("route.svg", PlotterFile.Render(route, best, PlotterFormat.Svg, PlotterMarks.None, cancellation));
        files.Add(At("projector.json"), projector.Write());
        Add(
            "frame.png",
            ProjectorFrame.Render(
                route,
                best,
                projector.ProjectorFromCloth,
                projector.Width,
                projector.Height,
                ct: cancellation
            )
        );
        files.Add(At("route-top.json"), RouteFile.Write(top.Route));
        Add("route-top.png", RoutePicture.Render(top.Route, top.Route.CandidateOf(null), 1800, cancellation));
        files.Add(At(Manifest), WriteManifest());
        files.Commit(cancellation);
        return new(new(files.Paths, findings), map, route, top.Route, Guide);

        void Add(string name, RenderedFile file)
        {
            findings.AddRange(file.Findings);
            files.Add(At(name), file.Bytes);
        }
    }

    private static IReadOnlyList<(string File, string Look)> Guide { get; } =
    [
        ("photo.jpg", "the sample photograph (a made scene, not a real quilt)"),
        ("preview.png", "the cloth seen straight down, with the seams that were found"),
        ("quilt.json", "the quilt map in inches"),
        ("route.png", "the route of the first block"),
        ("card.pdf", "the numbered stitch card"),
        ("sheets.pdf", "true-size trace sheets: print at 100 %, measure the square, then lay them on the cloth"),
        ("route.svg", "the route for a pen plotter, millimetres"),
        ("frame.png", "the route as an overhead projector would throw it"),
        ("projector.json", "that projector's profile (invented for the demo)"),
        ("route.json", "all choices with their proof"),
        ("route-top.png", "the whole top on as few threads as can be"),
        ("route-top.json", "that route"),
    ];

    // An invented 1920 × 1080 projector hung a little to one side: what is shown fills most of its picture, keystoned.
    private static ProjectorProfile DemoProjector(Box<ClothSpace> shown)
    {
        double scale = Math.Min(1700 / shown.Width, 900 / shown.Height);
        double left = (1920 - scale * shown.Width) / 2;
        double top = (1080 - scale * shown.Height) / 2;
        double right = left + scale * shown.Width;
        double bottom = top + scale * shown.Height;
        return ProjectorCalibration
            .FromPoints(
                [
                    (new(shown.Left, shown.Top), new(left + 22, top + 8)),
                    (new(shown.Right, shown.Top), new(right - 30, top + 18)),
                    (new(shown.Right, shown.Bottom), new(right + 6, bottom - 4)),
                    (new(shown.Left, shown.Bottom), new(left - 12, bottom - 10)),
                ],
                1920,
                1080
            )
            .Profile;
    }

    private static HashSet<string> ReadManifest(string folder)
    {
        string path = Path.Combine(folder, Manifest);
        if (!File.Exists(path))
        {
            return [];
        }

        try
        {
            using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(path));
            JsonElement root = document.RootElement;
            return root.GetProperty("format").GetString() == Format
                ? [.. root.GetProperty("files").EnumerateArray().Select(f => f.GetString()!), Manifest]
                : throw new JsonException("another format");
        }
        catch (Exception e)
            when (e
                    is JsonException
                        or IOException
                        or UnauthorizedAccessException
                        or InvalidOperationException
                        or KeyNotFoundException
            )
        {
            throw new InputException(
                $"{Manifest} in that folder is no manifest of a demo",
                path,
                "Give an empty folder, or remove that file.",
                e
            );
        }
    }

    private static byte[] WriteManifest() =>
        Encoding.UTF8.GetBytes(
            JsonSerializer.Serialize(
                new
                {
                    format = Format,
                    version = 1,
                    files = Guide.Select(g => g.File),
                }
            ) + "\n"
        );
}
