using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Workflows;

/// <summary>A whole top to draft, as a user names it.</summary>
public sealed record SettingOrder
{
    /// <summary>Straight or on point.</summary>
    public SettingKind Kind { get; init; }

    /// <summary>What stands where strips meet.</summary>
    public Cornerstones Cornerstones { get; init; } = Cornerstones.With;

    /// <summary>
    /// Every second block: <c>plain</c>, <c>turned</c> (a quarter turn), <c>mirrored</c>, or the id or name of another block;
    /// null where all are alike.
    /// </summary>
    public string? Alternate { get; init; }

    /// <summary>Borders from the inside out.</summary>
    public IReadOnlyList<BorderBand> Borders { get; init; } = [];

    /// <summary>How their strips meet.</summary>
    public BorderCorners BorderCorners { get; init; }
}

/// <summary>Drafts a top of library blocks in a setting, as a quilt map.</summary>
public static class DraftSetting
{
    /// <summary>Drafts and writes.</summary>
    /// <param name="name">Id or name of the block.</param>
    /// <param name="size">Finished side of a block.</param>
    /// <param name="columns">Blocks across.</param>
    /// <param name="rows">Blocks down.</param>
    /// <param name="sash">Finished width of the strips between blocks.</param>
    /// <param name="order">The setting.</param>
    /// <param name="output">Where the map goes.</param>
    /// <param name="files">What writes it.</param>
    /// <param name="cancellation">Stops before writing.</param>
    /// <exception cref="InputException">An unknown block, a number out of range, or a target that can't be written.</exception>
    public static (Written Written, QuiltMap Map) Run(
        string name,
        Length size,
        int columns,
        int rows,
        Length sash,
        SettingOrder order,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(order);
        ArgumentNullException.ThrowIfNull(files);
        SettingPlace block = new(BlockLibrary.Find(name));
        SettingPlace other = order.Alternate switch
        {
            null => block,
            "plain" => new(null),
            "turned" => block with { Turn = 1 },
            "mirrored" => block with { Mirror = true },
            string id => new(BlockLibrary.Find(id)),
        };
        files.Claim(output);
        QuiltMap map = SettingDraft.Draft(
            new()
            {
                Kind = order.Kind,
                Block = size,
                Columns = columns,
                Rows = rows,
                Sash = sash,
                Cornerstones = order.Cornerstones,
                Borders = order.Borders,
                BorderCorners = order.BorderCorners,
                // On point the blocks between the others are those of every second row.
                PlaceAt = (row, column) =>
                    (order.Kind == SettingKind.OnPoint ? row & 1 : (row + column) & 1) == 1 ? other : block,
            }
        );
        files.Add(output, QuiltMapFile.Write(map));
        files.Commit(cancellation);
        return (new(files.Paths, []), map);
    }
}
