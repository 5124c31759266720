using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Workflows;

/// <summary>Measures a quilt map: blocks, points that do not meet, patches by colour.</summary>
public static class ReportQuilt
{
    /// <summary>Measures, and writes the report as text where <paramref name="output"/> is given.</summary>
    /// <param name="quilt">The map's file.</param>
    /// <param name="drafted">The blocks' finished size, or null for the median of their sides.</param>
    /// <param name="output">A text file to write, or null.</param>
    /// <param name="files">Where it is written.</param>
    /// <param name="cancellation">Stops before anything is written.</param>
    /// <exception cref="InputException">The map can't be used, the size is not positive, or the target can't be written.</exception>
    public static (Written Written, QuiltReport Report) Run(
        string quilt,
        Length? drafted,
        string? output,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        if (drafted is { Inches: <= 0 })
        {
            throw new InputException(
                "A block's finished size is more than nothing",
                "--drafted",
                "Give it in inches: 12."
            );
        }

        if (output is not null)
        {
            files.Claim(output);
        }

        MapInspection read = MapCheck.Inspect(QuiltMapFile.Read(InputFiles.ReadAll(quilt), quilt));
        QuiltReport report = QuiltReport.Of(MapCheck.RequirePlane(read, quilt), drafted);
        if (output is not null)
        {
            files.Add(output, Encoding.UTF8.GetBytes(string.Join('\n', ReportText.Full(report)) + "\n"));
            files.Commit(cancellation);
        }

        List<Finding> findings = [.. read.Findings];
        if (report.Blocks.Count == 0)
        {
            findings.Add(
                new("no-blocks", quilt, "There is nothing to measure block by block; only points and colours are said.")
            );
        }

        return (new(files.Paths, findings), report);
    }
}
