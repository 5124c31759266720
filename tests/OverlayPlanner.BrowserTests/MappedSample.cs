using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;

[assembly: AssemblyFixture(typeof(OverlayPlanner.BrowserTests.MappedSample))]

namespace OverlayPlanner.BrowserTests;

/// <summary>The sample quilt, mapped and planned once for all tests that don't ask how that goes.</summary>
public sealed class MappedSample : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("overlayplanner-sample-").FullName;
    private readonly Lazy<KeptQuilt> mapped;
    private readonly Lazy<KeptQuilt> planned;

    /// <summary>Nothing is mapped before a test asks for it.</summary>
    public MappedSample()
    {
        mapped = new(() => Map(new QuiltStore(Path.Combine(folder, "mapped"))));
        planned = new(() =>
        {
            QuiltStore store = new(Path.Combine(folder, "planned"));
            KeptQuilt quilt = store.Open(CopyTo(store.Root));
            string block = QuiltSteps.MapOf(quilt).Blocks[0].Id;
            return QuiltSteps
                .Plan(
                    store,
                    quilt,
                    new PlanWishes
                    {
                        Block = block,
                        Lines = "seams+arcs",
                        Thread = "mixed",
                        Outline = "none",
                    }
                )
                .Quilt;
        });
    }

    /// <summary>Lays a copy of it, mapped, into a folder of quilts.</summary>
    /// <param name="quilts">The folder.</param>
    /// <returns>The copy's id, its own each time.</returns>
    public string CopyTo(string quilts) => Copy("mapped", mapped.Value.Id, quilts);

    /// <summary>Lays a copy of it into a folder of quilts, with the routes of its first block as the choices' screen plans them.</summary>
    /// <param name="quilts">The folder.</param>
    /// <returns>The copy's id, its own each time.</returns>
    public string CopyPlannedTo(string quilts) => Copy("planned", planned.Value.Id, quilts);

    /// <inheritdoc/>
    public void Dispose() => Directory.Delete(folder, recursive: true);

    private string Copy(string from, string id, string quilts)
    {
        // A copy of a copy has an id no longer than a copy's.
        string own = $"sample-{Guid.NewGuid():N}";
        string to = Directory.CreateDirectory(Path.Combine(quilts, own)).FullName;
        foreach (string file in Directory.EnumerateFiles(Path.Combine(folder, from, id)))
        {
            File.Copy(file, Path.Combine(to, Path.GetFileName(file)));
        }

        return own;
    }

    private static KeptQuilt Map(QuiltStore store)
    {
        KeptQuilt quilt = QuiltSteps.BringSample(store);
        PhotoPlace place =
            QuiltSteps.PlaceOf(quilt) ?? throw new InvalidOperationException("The sample knows its top's corners.");
        return QuiltSteps
            .MapByCorners(
                store,
                quilt,
                [.. place.Corners.Chunk(2).Select(c => new Point<PhotoSpace>(c[0], c[1]))],
                Typed(place.Across),
                Typed(place.Down)
            )
            .Quilt;
    }

    private static Length Typed(string text) =>
        Length.TryParse(text, out Length length) ? length : throw new FormatException(text);
}
