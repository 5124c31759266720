using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>The hand that guides the machine; the other one holds the ruler.</summary>
public enum Hand
{
    /// <summary>The right hand guides, the left holds the ruler.</summary>
    Right,

    /// <summary>The left hand guides, the right holds the ruler.</summary>
    Left,
}

/// <summary>What one quilter finds easy. All of it is taste: common practice, no source (handbook 3.5, 13.1).</summary>
public sealed record EaseTaste
{
    /// <summary>The guiding hand.</summary>
    public Hand Hand { get; init; } = Hand.Right;

    /// <summary>
    /// How far the foot runs before the hand on the ruler must move: the span of a hand, 4 to 6 in; with walking fingers 6 to
    /// 8 in. Above 0.
    /// </summary>
    public Length Reach { get; init; } = Length.FromInches(6);

    /// <summary>
    /// What an inch costs in each of the eight directions, in the order of <see cref="Facing"/>, for a right guiding hand;
    /// the left hand's table is its mirror image. At least 0.
    /// </summary>
    /// <remarks>
    /// Along the axes, left to right or towards the body is steady; away goes behind the head, where one sees less; diagonals
    /// pull on both carriages. Up the page is away from the body.
    /// </remarks>
    public IReadOnlyList<double> Directions { get; init; } = [1.1, 1.25, 1, 1.2, 1, 1.2, 1.05, 1.25];

    /// <summary>What an inch costs in a direction, between the table's two nearest in proportion to the angle.</summary>
    /// <param name="way">The direction of travel; its length does not matter.</param>
    public double CostOf(Vector<ClothSpace> way)
    {
        if (Hand == Hand.Left)
        {
            way = new(-way.X, way.Y);
        }

        // Eighths of a full turn clockwise from up the page.
        double eighths = Math.Atan2(way.X, -way.Y) / (Math.PI / 4);
        eighths = (eighths + 8) % 8;
        int below = (int)Math.Floor(eighths + 1e-9) % 8;
        double share = Math.Clamp(eighths - below, 0, 1);
        return Directions[below] * (1 - share) + Directions[(below + 1) % 8] * share;
    }

    /// <summary>Refuses a table that is no table.</summary>
    /// <exception cref="InputException">A number is out of range, or the directions are not eight.</exception>
    public void Require()
    {
        if (!(Reach.Inches > 0 && Reach.Inches <= 100))
        {
            throw new InputException(
                "The hand's reach along a ruler must be above 0 and at most 100 in",
                "--hand-reach",
                "4 to 6 in is a hand's span; 6 to 8 in with walking fingers."
            );
        }

        if (Directions.Count != 8 || Directions.Any(d => !(d >= 0 && d <= 1e6)))
        {
            throw new InputException(
                "The table of directions needs eight numbers of at least 0",
                "--directions",
                "Give one for each of up, up right, right, down right, down, down left, left, up left; 1 is usual."
            );
        }
    }
}
