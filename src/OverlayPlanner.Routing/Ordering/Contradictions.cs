using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Wishes that can't both be met, refused with which two they are and what each costs.</summary>
internal static class Contradictions
{
    // As near as a wished place must lie to a line.
    private const double Within = 0.125;

    /// <summary>Refuses the first pair of wishes that contradict each other.</summary>
    /// <param name="map">The map as it was read.</param>
    /// <param name="wishes">All wishes.</param>
    /// <param name="measure">Plans the seams alone with other wishes and says what it takes; null where it can't be planned.</param>
    /// <exception cref="InputException">Two wishes contradict each other.</exception>
    public static void Require(QuiltMap map, RouteWishes wishes, Func<RouteWishes, RouteMeasures?> measure)
    {
        SeamNames.Require(map, wishes.Skip, "--skip");
        SeamNames.Require(map, wishes.Only, "--only");
        SeamNames.Require(map, wishes.LastSeams, "--last");
        RequireApart(map, wishes.LastSeams, wishes.Skip, "--last", "--skip", "stitched last");
        RequireApart(map, wishes.Only, wishes.Skip, "--only", "--skip", "stitched");
        if (wishes.Only.Count > 0 && wishes.LastSeams.Except(wishes.Only).ToArray() is { Length: > 0 } outside)
        {
            throw Clash(
                $"{Named(outside)} shall be stitched last and {Are(outside)} not among the only ones",
                "--last",
                "--only",
                $"Naming {Them(outside)} in --only too takes {Inches(map, outside)} in more; leaving {Them(outside)} out of --last costs nothing"
            );
        }

        if (wishes.Lines == LineChoice.Curves)
        {
            RequireNoSeams(wishes);
        }

        if (wishes.LastOutline && wishes.Outline == OutlineChoice.None)
        {
            string[] outline = [.. map.Seams.Where(IsStitchable).Select(s => s.Id)];
            throw Clash(
                "The outline can't be last and left alone",
                "--last outline",
                "--outline none",
                $"--outline last takes {Inches(map, outline)} in more stitching; without --last outline it stays alone for nothing"
            );
        }

        foreach ((string option, IReadOnlyList<string> ids) in Named(wishes))
        {
            RequireChosen(map, wishes, option, ids);
        }

        foreach (
            (string option, Point<ClothSpace>? place) in new[] { ("--start", wishes.Start), ("--end", wishes.End) }
        )
        {
            RequireStitchedAt(map, wishes, option, place);
        }

        RequireOrder(map, wishes, measure);
    }

    private static void RequireOrder(QuiltMap map, RouteWishes wishes, Func<RouteWishes, RouteMeasures?> measure)
    {
        if (wishes.AnchorFirst && wishes.RoundLast)
        {
            throw Clash(
                "The ditch round a block can't come before its inside and after it",
                "--anchor-first",
                "--round-last",
                $"Anchoring first takes {Cost(wishes with { RoundLast = false })}, round the block last {Cost(wishes with { AnchorFirst = false })}, neither {Cost(wishes with { RoundLast = false, AnchorFirst = false })}"
            );
        }

        if (wishes.FinishBlocks && map.Blocks.Count == 0)
        {
            throw Clash(
                "There are no blocks to finish one by one",
                "--finish-blocks",
                "a map without blocks",
                $"Without the wish it takes {Cost(wishes with { FinishBlocks = false })}; or mark the blocks in the map"
            );
        }

        if (wishes.FinishBlocks && wishes.Block is not null)
        {
            throw Clash(
                "One block alone has no next one",
                "--finish-blocks",
                $"--block {wishes.Block}",
                $"The block alone takes {Cost(wishes with { FinishBlocks = false })}, the whole map block by block {Cost(wishes with { Block = null })}"
            );
        }

        string Cost(RouteWishes w) =>
            measure(w) is { } m ? WishCosts.Total((m.Starts, m.Doubled.Inches)) : "nothing that can be planned";
    }

    private static IEnumerable<(string Option, IReadOnlyList<string> Ids)> Named(RouteWishes wishes) =>
        [("--only", wishes.Only), ("--last", wishes.LastSeams)];

    private static bool IsStitchable(Seam s) => s is { Role: SeamRole.Edge, Edge: not EdgeKind.Cut };

    private static void RequireNoSeams(RouteWishes wishes)
    {
        (string Option, bool Asked)[] others =
        [
            ("--skip", wishes.Skip.Count > 0),
            ("--only", wishes.Only.Count > 0),
            ("--last", wishes.LastSeams.Count > 0),
            ("--clear", wishes.Clear > Length.Zero),
        ];
        if (others.FirstOrDefault(o => o.Asked).Option is { } option)
        {
            throw Clash(
                option == "--clear"
                    ? "The continuous curve runs through the points, so it can't stay clear of them"
                    : "The continuous curve stitches no seams, so none of them can be chosen",
                option,
                "--lines curves",
                $"Leave {option} out, which costs nothing, or ask for --lines seams+arcs, which stitches the seams too"
            );
        }
    }

    private static void RequireApart(
        QuiltMap map,
        IReadOnlyList<string> wanted,
        IReadOnlyList<string> skipped,
        string option,
        string other,
        string how
    )
    {
        string[] both = [.. wanted.Intersect(skipped)];
        if (both.Length > 0)
        {
            throw Clash(
                $"{Named(both)} shall be {how} and skipped",
                option,
                other,
                $"Stitching {Them(both)} takes {Inches(map, both)} in more; skipping leaves {Them(both)} unquilted"
            );
        }
    }

    // Seams named that the outline wish or the block leaves out.
    private static void RequireChosen(QuiltMap map, RouteWishes wishes, string option, IReadOnlyList<string> ids)
    {
        string[] cut = [.. ids.Where(id => map.SeamOf(id) is { Role: SeamRole.Edge, Edge: EdgeKind.Cut })];
        if (cut.Length > 0)
        {
            throw new InputException(
                $"{Named(cut)} {Are(cut)} only where the map ends, and never stitched",
                option,
                $"Leave {Them(cut)} out."
            );
        }

        string[] outline = [.. ids.Where(id => IsStitchable(map.SeamOf(id)))];
        if (outline.Length > 0 && wishes.Outline == OutlineChoice.None)
        {
            throw Clash(
                $"{Named(outline)} {Are(outline)} part of the outline, which is left alone",
                option,
                "--outline none",
                $"--outline any takes {Inches(map, [.. map.Seams.Where(IsStitchable).Select(s => s.Id)])} in more stitching at most; leaving {Them(outline)} out costs nothing"
            );
        }

        if (wishes.Block is { } block && map.FindBlock(block) is not null)
        {
            LineSelection own = LineSelection.Choose(map, block, wishes.Outline);
            HashSet<string> there = [.. own.Inner.Concat(own.Outline).Select(l => l.Seam!)];
            string[] outside = [.. ids.Where(id => !there.Contains(id))];
            if (outside.Length > 0)
            {
                throw Clash(
                    $"{Named(outside)} {Are(outside)} not in block {block}",
                    option,
                    $"--block {block}",
                    $"Leaving {Them(outside)} out costs nothing; planning the whole map takes {Inches(map, outside)} in more and the rest of it"
                );
            }
        }
    }

    // A start or an end on a seam that no wish lets be stitched.
    private static void RequireStitchedAt(QuiltMap map, RouteWishes wishes, string option, Point<ClothSpace>? place)
    {
        if (place is not { IsFinite: true } p || wishes.Lines == LineChoice.Curves)
        {
            return;
        }

        Seam[] under = [.. map.Seams.Where(s => map.EdgeOf(s).Nearest(p).Distance <= Within)];
        HashSet<string> only = [.. wishes.Only];
        (Seam Seam, string By)[] ruledOut =
        [
            .. under
                .Select(s =>
                    (
                        s,
                        wishes.Skip.Contains(s.Id) ? "--skip"
                        : only.Count > 0 && !only.Contains(s.Id) && wishes.Thread == ThreadChoice.Free ? "--only"
                        : s.Role == SeamRole.Edge && wishes.Outline == OutlineChoice.None ? "--outline none"
                        : ""
                    )
                )
                .Where(x => x.Item2.Length > 0),
        ];
        if (under.Length == 0 || ruledOut.Length < under.Length)
        {
            return;
        }

        (Seam seam, string by) = ruledOut[0];
        throw Clash(
            $"The {(option == "--start" ? "start" : "end")} lies on {seam.Id}, which is not stitched",
            option,
            by,
            $"Stitching {seam.Id} takes {Inches(map, [seam.Id])} in more; {NearestStitched(map, wishes, p)}"
        );
    }

    private static string NearestStitched(QuiltMap map, RouteWishes wishes, Point<ClothSpace> p)
    {
        HashSet<string> only = [.. wishes.Only];
        Junction? near = map
            .Seams.Where(s =>
                !wishes.Skip.Contains(s.Id)
                && (only.Count == 0 || only.Contains(s.Id))
                && (s.Role != SeamRole.Edge || (wishes.Outline != OutlineChoice.None && s.Edge != EdgeKind.Cut))
            )
            .SelectMany(s => new[] { map.JunctionOf(s.From), map.JunctionOf(s.To) })
            .MinBy(j => j.Place.DistanceTo(p));
        return near is null
            ? "nothing else is stitched"
            : string.Create(
                CultureInfo.InvariantCulture,
                $"the nearest point that is stitched is {near.Id} at {near.Place.X:0.###},{near.Place.Y:0.###}, {near.Place.DistanceTo(p):0.##} in away"
            );
    }

    private static InputException Clash(string what, string option, string other, string remedy) =>
        new(what, $"{option} and {other}", remedy + ".");

    private static string Named(string[] ids) => string.Join(", ", ids.Take(6)) + (ids.Length > 6 ? ", …" : "");

    private static string Are(string[] ids) => ids.Length == 1 ? "is" : "are";

    private static string Them(string[] ids) => ids.Length == 1 ? "it" : "them";

    private static string Inches(QuiltMap map, IReadOnlyCollection<string> ids) =>
        Length.FromInches(ids.Distinct().Sum(id => map.EdgeOf(map.SeamOf(id)).Length)).ToSixteenths();
}
