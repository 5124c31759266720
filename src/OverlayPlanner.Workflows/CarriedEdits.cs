using System.Text.RegularExpressions;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Workflows;

/// <summary>Carries edits over to what was found anew in a photograph.</summary>
internal static partial class CarriedEdits
{
    private const string LookHere = "look-here";

    /// <summary>The found map with the edits; findings that speak of seams by their ids follow these.</summary>
    /// <exception cref="InputException">An edit is out of range.</exception>
    public static DetectedQuilt Apply(DetectedQuilt found, EditList edits, string? name, EditReplay.Teacher? teach)
    {
        if (edits.Edits.Count == 0)
        {
            return found;
        }

        QuiltMap map = MapCheck.RequirePlane(MapCheck.Inspect(found.Map), "map");
        ReplayedMap replayed = EditReplay.Run(map, edits.Edits, name ?? "edits", teach);
        return new(
            replayed.Map,
            [.. found.Findings.Select(f => Follow(f, replayed)).OfType<Finding>(), .. replayed.Findings]
        );
    }

    // A seam to look at that was removed or drawn by hand is none any more.
    private static Finding? Follow(Finding finding, ReplayedMap replayed)
    {
        Match named = SeamName().Match(finding.Where);
        if (finding.What != LookHere || !named.Success)
        {
            return finding;
        }

        string was = named.Groups[1].Value;
        string now = replayed.NewSeamIds.GetValueOrDefault(was, was);
        return replayed.Map.FindSeam(now) is null ? null
            : now == was ? finding
            : finding with { Where = "seam " + now + finding.Where[named.Length..] };
    }

    [GeneratedRegex(@"^seam (\S+)")]
    private static partial Regex SeamName();
}
