using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>The sample quilt, mapped once for all tests of a class.</summary>
public sealed class MappedSample : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("overlayplanner-sample-").FullName;

    /// <summary>Maps it.</summary>
    public MappedSample()
    {
        QuiltStore store = new(folder);
        KeptQuilt quilt = QuiltSteps.BringSample(store);
        PhotoPlace place =
            QuiltSteps.PlaceOf(quilt) ?? throw new InvalidOperationException("The sample knows its top's corners.");
        quilt = QuiltSteps
            .MapByCorners(
                store,
                quilt,
                [.. place.Corners.Chunk(2).Select(c => new Point<PhotoSpace>(c[0], c[1]))],
                Typed(place.Across),
                Typed(place.Down)
            )
            .Quilt;
        Id = quilt.Id;
    }

    /// <summary>The quilt's id.</summary>
    public string Id { get; }

    /// <summary>Lays a copy of it into a folder of quilts.</summary>
    /// <param name="quilts">The folder.</param>
    public void CopyTo(string quilts)
    {
        string to = Directory.CreateDirectory(Path.Combine(quilts, Id)).FullName;
        foreach (string file in Directory.EnumerateFiles(Path.Combine(folder, Id)))
        {
            File.Copy(file, Path.Combine(to, Path.GetFileName(file)));
        }
    }

    /// <inheritdoc/>
    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static Length Typed(string text) =>
        Length.TryParse(text, out Length length) ? length : throw new FormatException(text);
}
