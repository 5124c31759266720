using System.Globalization;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>Settles where on the known quilt a photograph lies, or says why it can't be settled.</summary>
internal static class OntoChoice
{
    private const int MostNamed = 5;

    /// <summary>The one registration that is left.</summary>
    /// <exception cref="InputException">Nothing fits, the photograph is mirrored, or several places fit as well.</exception>
    public static Registration Settle(
        RegistrationAnswer answer,
        OntoWishes wishes,
        QuiltMap known,
        ClothScene<SeenSpace> seen,
        Point<SeenSpace>? touchedAt,
        string photo
    )
    {
        if (answer.IsMirrored)
        {
            throw new InputException(
                "The photograph fits the quilt only from behind: it is mirrored",
                photo,
                "Turn mirroring off in the camera's settings, or flip the picture back, and map it again."
            );
        }

        if (answer.Ways.Count == 0)
        {
            throw new InputException(
                $"The photograph has too little in common with the quilt in {Path.GetFileName(wishes.Known)}",
                photo,
                seen.Marks.Count < 8
                    ? "Fewer than eight points where seams meet were found: take a sharper photograph that shows more of the quilt."
                    : "Check that both are of one quilt; at least a row of blocks must be in both."
            );
        }

        IReadOnlyList<Registration> ways = answer.Possible(r =>
            (wishes.Row is not { } row || TopRowOf(r, known, seen) == row - 1)
            && (touchedAt is not { } at || IsOn(known, wishes.Touched!.Block, r.KnownFromSeen(at)))
        );
        ways = [.. ways.Where(w => !ways.Any(v => IsPoorer(w, v, known, seen)))];
        if (ways.Count == 1)
        {
            return ways[0];
        }

        IReadOnlyList<Registration> all = ways.Count > 1 ? ways : answer.Possible();
        string places = string.Join("; ", all.Take(MostNamed).Select(r => Words(r, known, seen)));
        if (all.Count > MostNamed)
        {
            places += string.Create(CultureInfo.InvariantCulture, $"; and {all.Count - MostNamed} more");
        }

        if (ways.Count == 0)
        {
            throw new InputException(
                $"The photograph does not fit where you say; it fits here: {places}",
                wishes.Touched is null ? "--row" : "--touch",
                "Say another row or block, or check that the photograph is of this quilt."
            );
        }

        throw new InputException(
            string.Create(
                CultureInfo.InvariantCulture,
                $"The photograph fits {all.Count} places of the quilt as well: {places}"
            ),
            photo,
            RowTells(all, known, seen)
                ? "Say which with --row (the topmost whole row in the photograph), or touch a block: --touch b1=x,y in photo pixels."
                : "Touch a block that you know: --touch b1=x,y in photo pixels."
        );
    }

    /// <summary>Row of the topmost whole block in the photograph, from 0; null where no block is whole or has a row.</summary>
    public static int? TopRowOf(Registration way, QuiltMap known, ClothScene<SeenSpace> seen) =>
        Whole(way, known, seen).Min(b => b.Row);

    // Equal blocks fit as well a block off. Less than that off, a pattern only looks like itself: there the better fit is right.
    private static bool IsPoorer(Registration way, Registration other, QuiltMap known, ClothScene<SeenSpace> seen)
    {
        const double clearly = 0.1;
        Block[] here = [.. Whole(way, known, seen)];
        Block[] there = [.. Whole(other, known, seen)];
        return way != other
            && here.Min(b => b.Row) is { } row
            && here.Min(b => b.Column) is { } column
            && row == there.Min(b => b.Row)
            && column == there.Min(b => b.Column)
            && other.Matches.Count > way.Matches.Count
            && other.Share > way.Share + clearly;
    }

    private static bool RowTells(IReadOnlyList<Registration> ways, QuiltMap known, ClothScene<SeenSpace> seen)
    {
        int?[] rows = [.. ways.Select(w => TopRowOf(w, known, seen))];
        return rows.All(r => r is not null) && rows.Distinct().Count() > 1;
    }

    private static IEnumerable<Block> Whole(Registration way, QuiltMap known, ClothScene<SeenSpace> seen)
    {
        const double reach = 0.3;
        Box<SeenSpace> area = seen.Area.Grown(reach);
        return known.Blocks.Where(b => b.Corners.All(c => area.Holds(way.SeenFromKnown.Apply(c))));
    }

    private static string Words(Registration way, QuiltMap known, ClothScene<SeenSpace> seen)
    {
        Point<ClothSpace> corner = way.KnownFromSeen(new(seen.Area.Left, seen.Area.Top));
        Block[] whole = [.. Whole(way, known, seen)];
        string fit = string.Create(
            CultureInfo.InvariantCulture,
            $"({way.Matches.Count} of {way.Matches.Count + way.Extra.Count + way.Missing.Count} points)"
        );
        return whole.Min(b => b.Row) is { } row && whole.Min(b => b.Column) is { } column
            ? string.Create(CultureInfo.InvariantCulture, $"from row {row + 1}, column {column + 1} {fit}")
            : string.Create(
                CultureInfo.InvariantCulture,
                $"from {Math.Round(corner.X, 1) + 0.0:0.0} in across, {Math.Round(corner.Y, 1) + 0.0:0.0} in down {fit}"
            );
    }

    private static bool IsOn(QuiltMap known, string block, Point<ClothSpace> at)
    {
        IReadOnlyList<Point<ClothSpace>> c = known.FindBlock(block)!.Corners;
        return Enumerable.Range(0, 4).All(i => (c[(i + 1) % 4] - c[i]).Unit.Cross(at - c[i]) > -0.25);
    }
}
