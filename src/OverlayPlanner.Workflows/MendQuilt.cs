using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows;

/// <summary>Corrections of a quilt map without its photograph.</summary>
public sealed record MendWishes
{
    /// <summary>The quilt map's file.</summary>
    public required string Quilt { get; init; }

    /// <summary>A file of edits, carried out first; or null.</summary>
    public string? Edits { get; init; }

    /// <summary>Edits by hand, carried out after those; each must be possible.</summary>
    public IReadOnlyList<MapEdit> ByHand { get; init; } = [];

    /// <summary>A file to which the edits by hand are appended, made where it does not exist; or null.</summary>
    public string? SaveEdits { get; init; }
}

/// <summary>Mends a quilt map: carries out edits and writes the map.</summary>
public static class MendQuilt
{
    /// <summary>Reads, mends and writes.</summary>
    /// <param name="wishes">What to mend.</param>
    /// <param name="output">The mended map to write.</param>
    /// <param name="preview">A drawing of it to write (PNG), or null.</param>
    /// <param name="force">Whether files that exist are replaced; the file of edits that grows always is.</param>
    /// <returns>What was written, the map, and how many edits were carried out.</returns>
    /// <exception cref="InputException">
    /// A file can't be used, an edit by hand is not possible, or there is nothing to do; nothing was written.
    /// </exception>
    public static (Written Written, QuiltMap Map, int Edits) Run(
        MendWishes wishes,
        string output,
        string? preview,
        bool force = false,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        if (wishes.Edits is null && wishes.ByHand.Count == 0)
        {
            throw new InputException(
                "There is nothing to mend",
                "mend",
                "Give --edits FILE, or an edit by hand such as --remove s7; see: mend --help."
            );
        }

        string? growing = wishes.SaveEdits is { } save ? Path.GetFullPath(save) : null;
        OutputFiles files = new(path => force || path == growing);
        foreach (string target in new[] { output, preview, wishes.SaveEdits }.OfType<string>())
        {
            files.Claim(target);
        }

        (QuiltMap map, IReadOnlyList<Finding> seen) = InputFiles.ReadPlaneMap(wishes.Quilt);
        List<Finding> findings = [.. seen];
        EditList given = ReadEdits(wishes.Edits);
        ReplayedMap replayed = EditReplay.Run(map, given.Edits, wishes.Edits ?? "edits");
        findings.AddRange(replayed.Findings);
        map = replayed.Map;
        List<MapEdit> made = [];
        foreach (MapEdit edit in wishes.ByHand)
        {
            cancellation.ThrowIfCancellationRequested();
            MendedMap mended = Mender.Apply(map, edit);
            map = mended.Map;
            made.Add(mended.Edit);
            findings.AddRange(mended.Findings);
        }

        files.Add(output, QuiltMapFile.Write(map));
        if (preview is not null)
        {
            RenderedFile drawn = MapSketch.Render(map, cancellation);
            findings.AddRange(drawn.Findings);
            files.Add(preview, drawn.Bytes);
        }

        if (wishes.SaveEdits is { } file)
        {
            bool same = wishes.Edits is { } read && Path.GetFullPath(read) == growing;
            EditList before =
                same ? given with { Edits = replayed.Edits }
                : File.Exists(file) ? ReadEdits(file)
                : new([]);
            files.Add(file, EditsFile.Write(before with { Edits = [.. before.Edits, .. made] }));
        }

        files.Commit(cancellation);
        return (new(files.Paths, Latest(findings, map)), map, given.Edits.Count + made.Count);
    }

    private static EditList ReadEdits(string? path) =>
        path is null ? new([]) : EditsFile.Read(InputFiles.ReadAll(path), path);

    // A seam that dangled after one edit may have been led on by a later one.
    private static IReadOnlyList<Finding> Latest(List<Finding> findings, QuiltMap map)
    {
        HashSet<Finding> dangling = [.. MapCheck.Inspect(map).Findings.Where(f => f.What == "seam-dangles")];
        return [.. findings.Where(f => f.What != "seam-dangles").Distinct(), .. dangling];
    }
}
