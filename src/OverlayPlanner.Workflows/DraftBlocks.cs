using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Workflows;

/// <summary>Drafts a library block to size as a quilt map.</summary>
public static class DraftBlocks
{
    /// <summary>Drafts and writes.</summary>
    /// <param name="name">Id or name of the block.</param>
    /// <exception cref="InputException">An unknown block, a number out of range, or a target that can't be written.</exception>
    public static (Written Written, QuiltMap Map) Run(
        string name,
        Length size,
        int columns,
        int rows,
        Length sash,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        BlockDraft draft = BlockLibrary.Find(name);
        files.Claim(output);
        QuiltMap map = BlockDrafting.Draft(draft, size, columns, rows, sash);
        files.Add(output, QuiltMapFile.Write(map));
        files.Commit(cancellation);
        return (new(files.Paths, []), map);
    }
}
