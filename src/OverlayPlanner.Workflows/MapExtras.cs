using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows;

/// <summary>What is done with a map once its seams are found.</summary>
public sealed record MapExtras
{
    /// <summary>How low sides are come by, in order of preference, as <see cref="LowSideOrder"/> reads it.</summary>
    public string LowSide { get; init; } = "light";

    /// <summary>
    /// True where the picture tells, side by side, what the outline is; what it does not tell is as the wishes say. False where
    /// the wishes say it of all sides.
    /// </summary>
    public bool OutlineFromPicture { get; init; }

    /// <summary>The picture of the least sure places to write (PNG), or null.</summary>
    public string? LookHere { get; init; }

    internal void Claim(OutputFiles files)
    {
        _ = LowSideOrder.Parse(LowSide);
        if (LookHere is { } path)
        {
            files.Claim(path);
        }
    }

    internal void Draw(
        MappedQuilt mapped,
        OutputFiles files,
        IProgress<string>? progress,
        CancellationToken cancellation
    )
    {
        if (LookHere is { } path)
        {
            progress?.Report("Drawing where to look first");
            files.Add(
                path,
                LookHereSheet.Render(mapped.Rectified, mapped.Map, mapped.Look, mapped.Margin, cancellation).Bytes
            );
        }
    }
}
