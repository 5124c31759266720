using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Workflows;

/// <summary>
/// Re-fits one block to the cloth as it lies now. A quilt map keeps both shapes: its own numbers stay, the shape on the cloth
/// stands beside them on the block. A route of that block becomes the same route on the cloth now, ready for sheets, projector
/// and plotter.
/// </summary>
public static class RefitBlock
{
    /// <summary>Reads, re-fits and writes.</summary>
    /// <param name="wishes">Which block, and what is known of it.</param>
    /// <param name="output">The map or route to write: of the kind that was read.</param>
    /// <param name="alone">A map of the block alone on the cloth now to write, or null.</param>
    /// <param name="files">Where targets are claimed.</param>
    /// <exception cref="InputException">A file, the block or its measures can't be used; nothing was written.</exception>
    public static (Written Written, RefitReport Report) Run(
        RefitWishes wishes,
        string output,
        string? alone,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        if (alone is not null)
        {
            files.Claim(alone);
        }

        List<Finding> findings = [];
        (QuiltMap map, Route? route) = Read(wishes.File, findings);
        Block block = BlockOf(map, wishes);
        (BlockStretch stretch, TapedBlock? taped, BlockMeasures? measures) = Stretch(block, wishes);
        findings.AddRange(taped?.Findings ?? []);
        BlockAlone now = BlockAlone.Of(map, block, stretch, wishes.File);
        if (!MapCheck.Inspect(now.Map).IsPlane)
        {
            throw new InputException(
                $"Stretched so, seams of block {block.Id} would cross",
                wishes.File,
                "Measure its corners again; mend the block's seams first where they lie close together."
            );
        }

        files.Add(
            output,
            route is null
                ? QuiltMapFile.Write(
                    map.With(
                        blocks:
                        [
                            .. map.Blocks.Select(b =>
                                b.Id == block.Id ? OnClothField.Keep(b, stretch.Now, measures) : b
                            ),
                        ]
                    )
                )
                : RouteFile.Write(now.Stretched(route, findings))
        );
        if (alone is not null)
        {
            files.Add(alone, QuiltMapFile.Write(now.Map));
        }

        files.Commit(cancellation);
        RefitReport report = new(
            block.Id,
            Measures(block.Corners),
            Measures(stretch.Now),
            taped?.Contradiction,
            taped?.Doubtful,
            CardsPlane.ErrorWithin([.. now.Map.Junctions.Select(j => j.At.Sigma)])
        );
        return (new(files.Paths, findings), report);
    }

    private static (QuiltMap Map, Route? Route) Read(string file, List<Finding> findings)
    {
        if (IsRoute(file, out ReadOnlyMemory<byte> bytes))
        {
            Route route = InputFiles.ReadRoute(file == "-" ? throw NoRouteFromInput() : file);
            return (route.Quilt, route);
        }

        MapInspection inspection = MapCheck.Inspect(QuiltMapFile.Read(bytes, file));
        findings.AddRange(inspection.Findings);
        return (MapCheck.RequirePlane(inspection, file), null);
    }

    private static InputException NoRouteFromInput() =>
        new("A route is re-fitted from a file, not from standard input", "-", "Save the route and give its name.");

    // Anything that is no route is read as a map, whose reader says what is wrong with it.
    private static bool IsRoute(string file, out ReadOnlyMemory<byte> bytes)
    {
        bytes = InputFiles.ReadAll(file);
        try
        {
            using JsonDocument document = JsonDocument.Parse(bytes);
            return document.RootElement.ValueKind == JsonValueKind.Object
                && document.RootElement.TryGetProperty("format", out JsonElement format)
                && format.ValueKind == JsonValueKind.String
                && format.GetString() == RouteFile.Format;
        }
        catch (JsonException)
        {
            return false;
        }
    }

    private static Block BlockOf(QuiltMap map, RefitWishes wishes) =>
        map.FindBlock(wishes.Block)
        ?? throw new InputException(
            $"There is no block \"{wishes.Block}\" in {Path.GetFileName(wishes.File)}",
            "--block",
            map.Blocks.Count == 0
                ? "Its map has no blocks."
                : $"Give one of its blocks, for example {map.Blocks[0].Id}; a drawing from mend shows their names."
        );

    private static (BlockStretch Stretch, TapedBlock? Taped, BlockMeasures? Measures) Stretch(
        Block block,
        RefitWishes wishes
    )
    {
        (BlockMeasures? measures, IReadOnlyList<Point<ClothSpace>>? corners) = (
            wishes.Tape?.ToMeasures(),
            wishes.Corners
        );
        if (measures is null && corners is null)
        {
            (measures, corners) =
                OnClothField.Read(block)
                ?? throw new InputException(
                    $"Nothing says how block {block.Id} lies on the cloth now",
                    "--block",
                    "Give --sides and --diagonals as the tape says, or --corners as you nudged them."
                );
        }

        if (measures is null)
        {
            return (BlockStretch.OfCorners(block.Corners, corners!), null, null);
        }

        TapedBlock taped = BlockFromTape.Solve(block.Corners, measures);
        return (BlockStretch.Of(block.Corners, taped), taped, measures);
    }

    private static Length[] Measures(IReadOnlyList<Point<ClothSpace>> c) =>
        [
            .. new[] { (0, 1), (1, 2), (3, 2), (0, 3), (0, 2), (1, 3) }.Select(e =>
                Length.FromInches(c[e.Item1].DistanceTo(c[e.Item2]))
            ),
        ];
}
