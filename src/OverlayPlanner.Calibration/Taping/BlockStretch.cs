using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Takes one block from its mapped shape to its shape on the cloth now, by the bilinear map of its four corners: what lies at a
/// share of two opposite sides stays at that share. A straight seam stays straight from point to point.
/// </summary>
/// <remarks>
/// The projective map would keep long lines straight through their points too, and would meet a plane that tilted under the
/// projector exactly; but cloth draws up evenly along a side, not in perspective, and what little keystone the corners show is
/// mostly the tape's own error, which the projective map carries into the middle. On made cloth the bilinear map is the nearer one
/// either way (the calibration scoreboard has both). Where the corners show a keystone of k inches, a line through several points
/// leaves the straight by k/4 at most: 1/64 in where opposite sides differ by 1/16.
/// </remarks>
public sealed class BlockStretch
{
    // A corner is nudged by eye to less than a line's width.
    private const double NudgeInches = 1.0 / 40;

    // Between the corners the cloth gives unevenly: so much of the way to the nearest one.
    private const double Uneven = 0.002;
    private const double MostStretch = 0.15;

    private readonly IReadOnlyList<Point<ClothSpace>> mapped;
    private readonly FourCorners before;
    private readonly FourCorners after;
    private readonly IReadOnlyList<FourCorners> spreads;

    private BlockStretch(
        IReadOnlyList<Point<ClothSpace>> mapped,
        IReadOnlyList<Point<ClothSpace>> now,
        IEnumerable<IReadOnlyList<Point<ClothSpace>>> spreads
    )
    {
        this.mapped = mapped;
        Now = now;
        before = new(mapped);
        after = new(now);
        this.spreads = [.. spreads.Select(s => new FourCorners(s))];
    }

    /// <summary>The corners on the cloth now, clockwise from the top left, inches.</summary>
    public IReadOnlyList<Point<ClothSpace>> Now { get; }

    /// <summary>From tape measures.</summary>
    public static BlockStretch Of(IReadOnlyList<Point<ClothSpace>> mapped, TapedBlock taped)
    {
        ArgumentNullException.ThrowIfNull(mapped);
        ArgumentNullException.ThrowIfNull(taped);
        CheckMapped(mapped);
        return new(mapped, taped.Corners, taped.Spreads);
    }

    /// <summary>From corners that were nudged onto the cloth, clockwise from the top left, inches.</summary>
    /// <exception cref="InputException">They are no four corners of that block.</exception>
    public static BlockStretch OfCorners(IReadOnlyList<Point<ClothSpace>> mapped, IReadOnlyList<Point<ClothSpace>> now)
    {
        ArgumentNullException.ThrowIfNull(mapped);
        ArgumentNullException.ThrowIfNull(now);
        CheckMapped(mapped);
        Check(mapped, now);
        return new(
            mapped,
            now,
            Enumerable
                .Range(0, 8)
                .Select(k =>
                    (IReadOnlyList<Point<ClothSpace>>)
                        [
                            .. now.Select(
                                (p, i) =>
                                    i != k / 2 ? p
                                    : k % 2 == 0 ? new Point<ClothSpace>(p.X + NudgeInches, p.Y)
                                    : new(p.X, p.Y + NudgeInches)
                            ),
                        ]
                )
        );
    }

    /// <summary>A place of the mapped block on the cloth now.</summary>
    public Point<ClothSpace> Apply(Point<ClothSpace> at)
    {
        // A corner is where it was said to be, to the last digit.
        for (int i = 0; i < mapped.Count; i++)
        {
            if (mapped[i] == at)
            {
                return Now[i];
            }
        }

        (double across, double down) = before.SharesOf(at);
        return after.At(across, down);
    }

    /// <summary>
    /// A line or arc on the cloth now: a line stays one; an arc becomes the arc through the places of its ends and its middle.
    /// The same numbers come out whichever way it is travelled.
    /// </summary>
    public Edge<ClothSpace> Apply(Edge<ClothSpace> edge)
    {
        if (edge.IsLine)
        {
            return new(Apply(edge.From), Apply(edge.To));
        }

        bool back = (edge.From.X, edge.From.Y).CompareTo((edge.To.X, edge.To.Y)) > 0;
        Edge<ClothSpace> one = back ? edge.Reversed : edge;
        (Point<ClothSpace> from, Point<ClothSpace> to) = (Apply(one.From), Apply(one.To));
        Point<ClothSpace> on = Apply(one.PointAt(0.5));

        // Bulge = tan of half the angle that the middle leaves open toward the ends.
        Vector<ClothSpace> a = from - on;
        Vector<ClothSpace> b = to - on;
        double open = Math.Atan2(Math.Abs(a.Cross(b)), -a.Dot(b));
        double bulge = Math.CopySign(Math.Tan(open / 2), one.Bulge);
        Edge<ClothSpace> now = new(from, to, bulge);
        return back ? now.Reversed : now;
    }

    /// <summary>
    /// Standard deviation of a place on the cloth now, one axis: what the measures leave open, and what the cloth may have given
    /// between the corners. Where the block lies is not in it: it is laid on the old place.
    /// </summary>
    public Length SigmaAt(Point<ClothSpace> at)
    {
        (double across, double down) = before.SharesOf(at);
        Point<ClothSpace> now = after.At(across, down);
        double variance = spreads.Sum(s =>
        {
            Vector<ClothSpace> by = s.At(across, down) - now;
            return by.Dot(by) / 2;
        });
        double between = Uneven * mapped.Min(c => c.DistanceTo(at));
        return Length.FromInches(Math.Sqrt(variance + between * between));
    }

    private static void CheckMapped(IReadOnlyList<Point<ClothSpace>> mapped)
    {
        if (!BlockFromTape.IsConvex(mapped))
        {
            throw new InputException(
                "The block's mapped corners do not go clockwise round it",
                "the block's corners",
                "Set them first: mend --corners."
            );
        }
    }

    private static void Check(IReadOnlyList<Point<ClothSpace>> mapped, IReadOnlyList<Point<ClothSpace>> now)
    {
        const string remedy =
            "Give its four corners on the cloth, inches, clockwise from its top left: \"x,y x,y x,y x,y\".";
        if (now.Count != 4)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There are {now.Count} corners, not four"),
                "--corners",
                remedy
            );
        }

        if (!BlockFromTape.IsConvex(now))
        {
            throw new InputException(
                "The corners do not go clockwise round a block: their sides cross or fold",
                "--corners",
                remedy
            );
        }

        double[] was = BlockMeasures.Of(mapped);
        double[] measures = BlockMeasures.Of(now);
        for (int i = 0; i < was.Length; i++)
        {
            if (Math.Abs(measures[i] / was[i] - 1) > MostStretch)
            {
                throw new InputException(
                    $"The {BlockMeasures.NameOf(i)} was {Length.FromInches(was[i]).ToSixteenths()} in on the map and can't be {Length.FromInches(measures[i]).ToSixteenths()} in now",
                    "--corners",
                    "Nudge its two corners again, and check that it is this block; cloth draws up by a few percent."
                );
            }
        }

        double farthest = mapped.Zip(now, (a, b) => a.DistanceTo(b)).Max();
        if (farthest > was.Max() / 4)
        {
            throw new InputException(
                $"A corner lies {Length.FromInches(farthest).ToSixteenths()} in from where the map has it",
                "--corners",
                "Check that it is this block, and that its first corner is the top left one; after an advance use map --onto."
            );
        }
    }
}
