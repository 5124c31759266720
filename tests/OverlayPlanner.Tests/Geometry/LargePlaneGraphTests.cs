using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

public class LargePlaneGraphTests
{
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Five_thousand_seams_are_built_checked_and_walked(bool arcs)
    {
        // 50 × 51 × 2 = 5,100 edges; a walk that grows with the square of a quilt would not end in the time of a test run.
        PlaneGraph<ClothSpace> graph = RandomPlane.Make(new Random(1), 50, 50, 1, arcs);
        Assert.Empty(graph.FindConflicts());
        int faces = graph.FindFaces().Count;

        Assert.Equal(5100, graph.EdgeCount);
        Assert.Equal(2501, faces);
    }
}
