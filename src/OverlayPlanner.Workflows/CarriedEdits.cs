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
    private const string CopiesFitted = "copies-fitted";
    private static readonly Dictionary<string, string> Unchanged = [];

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

        // After a block was taught, what it left to look at is said anew.
        int taught = replayed.Findings.ToList().FindLastIndex(f => f.What == CopiesFitted);
        IEnumerable<Finding> before = found.Findings.Where(f => taught < 0 || f.What != LookHere);
        IEnumerable<Finding> after = replayed.Findings.Where((f, i) => f.What != LookHere || i > taught);
        return found with
        {
            Map = replayed.Map,
            Findings =
            [
                .. before.Select(f => Follow(f, replayed.Map, replayed.NewSeamIds)).OfType<Finding>(),
                .. after.Where(f => f.What != LookHere || Follow(f, replayed.Map, Unchanged) is not null),
            ],
        };
    }

    /// <summary>Fits copies to a picture; the ids of the map that was right are carried over to what comes of it.</summary>
    public static EditReplay.Teacher TeacherOf(
        SeamFinder finder,
        Picture rectified,
        DetectionWishes wishes,
        CancellationToken cancellation
    ) =>
        (mended, block) =>
        {
            DetectedQuilt fitted = finder.FitCopies(rectified, wishes, mended, block, cancellation);
            CarriedMap carried = IdCarrier.Carry(MapCheck.RequirePlane(MapCheck.Inspect(fitted.Map), "map"), mended);

            // What the picture itself is like was said when it was looked at first.
            IEnumerable<Finding> findings = fitted
                .Findings.Where(f => f.What is LookHere or CopiesFitted)
                .OrderBy(f => f.What == LookHere)
                .Select(f => Follow(f, carried.Map, carried.NewSeamIds))
                .OfType<Finding>();
            return (carried.Map, [.. findings]);
        };

    // A seam to look at that was removed or drawn by hand is none any more.
    private static Finding? Follow(Finding finding, QuiltMap map, IReadOnlyDictionary<string, string> newIds)
    {
        Match named = SeamName().Match(finding.Where);
        if (finding.What != LookHere || !named.Success)
        {
            return finding;
        }

        string was = named.Groups[1].Value;
        string now = newIds.GetValueOrDefault(was, was);
        return map.FindSeam(now) is not { Confidence: < 1 } ? null
            : now == was ? finding
            : finding with { Where = "seam " + now + finding.Where[named.Length..] };
    }

    [GeneratedRegex(@"^seam (\S+)")]
    private static partial Regex SeamName();
}
