using System.Diagnostics;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

[Collection(Timed.Name)]
public class PlaneGraphTimedTests
{
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Five_thousand_seams_are_built_checked_and_walked_well_under_a_second(bool arcs)
    {
        // 50 × 51 × 2 = 5,100 edges. Measured on two idle cores: 0.2 to 0.3 s; the limit leaves room for a busy machine.
        PlaneGraph<ClothSpace> warm = RandomPlane.Make(new Random(2), 5, 5, 1, arcs);
        Assert.Empty(warm.FindConflicts());
        Stopwatch watch = Stopwatch.StartNew();
        PlaneGraph<ClothSpace> graph = RandomPlane.Make(new Random(1), 50, 50, 1, arcs);
        Assert.Empty(graph.FindConflicts());
        int faces = graph.FindFaces().Count;
        watch.Stop();

        Assert.Equal(5100, graph.EdgeCount);
        Assert.Equal(2501, faces);
        TestContext.Current.TestOutputHelper?.WriteLine(watch.Elapsed.ToString());
        Assert.True(watch.Elapsed.TotalSeconds < 15, watch.Elapsed.ToString());
    }
}
