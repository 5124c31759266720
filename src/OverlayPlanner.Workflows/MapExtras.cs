using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Reports;
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

    /// <summary>The picture of how far off a position may be to write (PNG), or null.</summary>
    public string? ErrorPicture { get; init; }

    internal void Claim(OutputFiles files)
    {
        _ = LowSideOrder.Parse(LowSide);
        foreach (string path in new[] { LookHere, ErrorPicture }.OfType<string>())
        {
            files.Claim(path);
        }
    }

    /// <summary>Refuses what a photograph that is laid on an earlier map has no answer for.</summary>
    /// <exception cref="InputException">A picture of the error is wanted.</exception>
    internal void RefuseLaidOn()
    {
        if (ErrorPicture is { } path)
        {
            throw new InputException(
                "A photograph that is laid on an earlier map has no picture of its error: its points take part of theirs from that map",
                path,
                "Map the photograph by itself for the picture, or leave the picture out; each point's own error stands in the map."
            );
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

        if (ErrorPicture is { } picture && mapped.Inches is { } inches)
        {
            progress?.Report("Drawing how far off a position may be");
            ErrorField field = new(mapped.Map, inches);
            files.Add(
                picture,
                Rendering
                    .Pictures.ErrorPicture.Render(
                        mapped.Rectified,
                        mapped.Map,
                        field,
                        mapped.Cards,
                        mapped.Margin,
                        cancellation
                    )
                    .Bytes
            );
        }
    }
}
