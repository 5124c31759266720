namespace OverlayPlanner.Tests.Support;

/// <summary>
/// Tests that hold a time limit run alone. Their limits are tens of times what an idle machine needs: they catch work that grows
/// with the square of a quilt, not a slow minute.
/// </summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class Timed
{
    /// <summary>The collection's name.</summary>
    public const string Name = "Timed";
}
