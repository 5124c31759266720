using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows;

/// <summary>From a quilt map to candidate routes.</summary>
public static class PlanRoute
{
    /// <summary>Plans and writes.</summary>
    /// <exception cref="InputException">The map, a wish or the target can't be used.</exception>
    public static (Written Written, Route Route) Run(
        string quilt,
        RouteWishes wishes,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        (QuiltMap map, IReadOnlyList<Finding> findings) = InputFiles.ReadPlaneMap(quilt);
        files.Claim(output);
        progress?.Report("Planning the route");
        RoutePlan plan = RoutePlanner.Plan(map, wishes, cancellation);
        files.Add(output, RouteFile.Write(plan.Route));
        files.Commit(cancellation);
        return (new(files.Paths, [.. findings, .. plan.Findings]), plan.Route);
    }
}
