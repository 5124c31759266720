using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>What an edit may say, whatever the map.</summary>
public static class EditLimits
{
    // A hand, or a block's corner of a top out of square, may lie this far outside, inches.
    private const double OutsideInches = 1;
    private static readonly (double Least, double Most) Snaps = (0.005, 1);

    /// <summary>Checks an edit's numbers and names.</summary>
    /// <param name="edit">The edit.</param>
    /// <param name="width">Width of the mapped area; null where it is not known yet.</param>
    /// <param name="height">Its height.</param>
    /// <exception cref="InputException">A place outside the map, a number out of range, an unknown pattern.</exception>
    public static void Require(MapEdit edit, Length? width = null, Length? height = null)
    {
        ArgumentNullException.ThrowIfNull(edit);
        foreach (Point<ClothSpace> p in PlacesOf(edit))
        {
            bool inside =
                p.IsFinite
                && Math.Abs(p.X) < 1e6
                && Math.Abs(p.Y) < 1e6
                && (width is not { } w || (p.X >= -OutsideInches && p.X <= w.Inches + OutsideInches))
                && (height is not { } h || (p.Y >= -OutsideInches && p.Y <= h.Inches + OutsideInches));
            if (!inside)
            {
                throw new InputException(
                    "A place lies outside the mapped area",
                    string.Create(CultureInfo.InvariantCulture, $"{edit.Word}, ({p.X:0.##}, {p.Y:0.##}) in"),
                    width is { } a && height is { } b
                        ? string.Create(
                            CultureInfo.InvariantCulture,
                            $"Give inches from 0 to {a.Inches:0.##} across and 0 to {b.Inches:0.##} down."
                        )
                        : "Give inches on the cloth."
                );
            }
        }

        switch (edit)
        {
            case AddSeam add:
                RequireBulge(add.Bulge, add.Word);
                Require(
                    add.Snap.Inches >= Snaps.Least && add.Snap.Inches <= Snaps.Most,
                    "The snap must be from 0.005 to 1 in",
                    add.Word
                );
                break;
            case BendSeam bend:
                RequireBulge(bend.Bulge, bend.Word);
                break;
            case NameBlock name:
                RequireTurn(name.Turn ?? 0, name.Word);
                RequirePattern(name.Pattern, name.Word);
                Require(
                    name.Called is null
                        || (name.Called.Trim().Length is > 0 and <= 60 && !name.Called.Any(char.IsControl)),
                    "A block's own name has from 1 to 60 characters",
                    name.Word
                );
                break;
            case SetCorners corners:
                RequireCorners(corners.Corners, corners.Word);
                break;
            case AddBlock block:
                RequireTurn(block.Turn, block.Word);
                RequirePattern(block.Pattern, block.Word);
                RequireCorners(block.Corners, block.Word);
                break;
        }
    }

    private static IEnumerable<Point<ClothSpace>> PlacesOf(MapEdit edit)
    {
        IEnumerable<Point<ClothSpace>?> places = edit switch
        {
            AddSeam e => [e.From, e.To],
            MovePoint e => [e.Point.At, e.To],
            RemoveSeam e => [e.Seam.At],
            BendSeam e => [e.Seam.At, e.Through],
            SureSeam e => [e.Seam.At],
            LeavePatch e => [e.Patch.At],
            SayDitch e => [e.Seam.At, e.Part?.From, e.Part?.To],
            SayEdge e => [e.Seam.At],
            NameBlock e => [e.Block.At],
            SetCorners e => [e.Block.At, .. e.Corners.Select(c => (Point<ClothSpace>?)c)],
            AddBlock e => [.. e.Corners.Select(c => (Point<ClothSpace>?)c)],
            RemoveBlock e => [e.Block.At],
            CopyBlock e => [e.Block.At],
            TeachBlock e => [e.Block.At],
            _ => [],
        };
        return places.OfType<Point<ClothSpace>>();
    }

    private static void RequireBulge(double bulge, string word) =>
        Require(
            Math.Abs(bulge) <= Mender.MostBulge,
            "The bulge must be from -2 to 2 (1 is a half circle, 0 a straight seam)",
            word
        );

    private static void RequireTurn(int turn, string word) =>
        Require(turn is >= 0 and <= 3, "The turn must be 0, 1, 2 or 3 quarter turns", word);

    private static void RequirePattern(string? pattern, string word)
    {
        try
        {
            _ = pattern is null ? null : BlockLibrary.Find(pattern);
        }
        catch (InputException e)
        {
            throw new InputException(e.What, word, e.Remedy, e);
        }
    }

    private static void RequireCorners(IReadOnlyList<Point<ClothSpace>> corners, string word)
    {
        const double LeastSide = 0.25;
        Require(corners.Count == 4, "A block has four corners", word);
        bool convex = Enumerable
            .Range(0, 4)
            .All(i =>
                Exact.Orientation(corners[i], corners[(i + 1) % 4], corners[(i + 2) % 4]) == Turn.Right
                && corners[i].DistanceTo(corners[(i + 1) % 4]) >= LeastSide
            );
        Require(convex, "The four corners do not go clockwise round a block with sides of 1/4 in or more", word);
    }

    // Written so that what is no number is refused as well.
    private static void Require(bool holds, string what, string word)
    {
        if (!holds)
        {
            throw new InputException(what, word, "Mend the number and try again.");
        }
    }
}
