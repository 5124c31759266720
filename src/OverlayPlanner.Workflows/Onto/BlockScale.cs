using System.Globalization;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Workflows;

/// <summary>Scale without cards: the four corners of one block, led on over what the photograph shows for as far as that holds.</summary>
internal static class BlockScale
{
    private const double Step = 0.5;

    // A seam that is off by more than 1/4 in is of no use to a needle; to be laid on a known quilt, points may be off by more.
    private const double TrustInches = 0.25;
    private const double KnownTrustInches = 0.75;

    // Beyond a few blocks' length the corners' own errors lead too far for points to be told apart.
    private const double MostBlocks = 4;
    private const double MostInches = 120;

    /// <summary>The wish to map round a touched block of a known quilt.</summary>
    public static MapWishes Wishes(CardMapQuestion question, QuiltMap known, TouchedBlock touched, TapeWords? tape) =>
        new()
        {
            Photo = question.Photos[0],
            Corners = touched.At,
            Tape = tape,
            Known = (known, known.FindBlock(touched.Block)!),
            Lens = question.Lens,
            Outline = EdgeKind.Cut,
            Hints = question.Hints,
            Extras = question.Extras with { OutlineFromPicture = false },
        };

    /// <summary>The plane from the block, and the rectangle round it that is mapped; its first corner is the origin.</summary>
    /// <exception cref="InputException">The corners are no block's, or the measures contradict each other.</exception>
    public static (PlaneFit Plane, Length Width, Length Height) Frame(Photo photo, LensProfile? lens, MapWishes wishes)
    {
        TapedBlock block = ShapeOf(wishes);
        (int w, int h) = (photo.Picture.Width, photo.Picture.Height);
        PlaneFit plane = PlaneFromCorners.SolveBlock(wishes.Corners, block, w, h, lens, photo.Facts);
        Box<ClothSpace> around = Box<ClothSpace>.Around(block.Corners);
        Box<ClothSpace> limit = LimitOf(wishes, block, around);
        double trust = wishes.Known is null ? TrustInches : KnownTrustInches;
        if (ErrorIn(plane, around) > trust)
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"The block is too small in the photograph to measure by: its own corners are known to {ErrorIn(plane, around):0.00} in"
                ),
                "--corners",
                "Go nearer, or give the corners of a larger block, or lay marker cards."
            );
        }

        Box<PhotoSpace> frame = new(4, 4, w - 5, h - 5);
        Box<ClothSpace> area = Grown(
            around,
            limit,
            box => Corners(box).All(p => frame.Holds(plane.PhotoFromCloth.Apply(p))) && ErrorIn(plane, box) <= trust
        );
        Similarity<ClothSpace, ClothSpace> shift = Similarity<ClothSpace, ClothSpace>.ScaleThenShift(
            1,
            area.Left,
            area.Top
        );
        IMap<PhotoSpace, ClothSpace> photoFromCloth = plane.PhotoFromCloth;
        Finding[] said = [.. block.Findings, Reach(plane, around, wishes), .. Unmeasured(wishes)];
        return (
            new(
                new Moved<ClothSpace, ClothSpace, PhotoSpace>(shift.Inverse(), plane.ClothFromPhoto),
                new Moved<PhotoSpace, ClothSpace, ClothSpace>(photoFromCloth, shift),
                at => plane.SigmaAt(shift.Apply(at)),
                plane.PixelsPerInch,
                [.. plane.Findings, .. said]
            ),
            Length.FromInches(area.Width),
            Length.FromInches(area.Height)
        );
    }

    /// <summary>How far from a block its inches hold: 95 % of places are within <paramref name="error"/> up to there; null where not even on the block.</summary>
    public static Length? ReachOf(PlaneFit plane, Box<ClothSpace> block, Length error)
    {
        if (ErrorIn(plane, block) > error.Inches)
        {
            return null;
        }

        double far = 0;
        while (far < MostInches && ErrorIn(plane, block.Grown(far + Step)) <= error.Inches)
        {
            far += Step;
        }

        return Length.FromInches(far);
    }

    private static TapedBlock ShapeOf(MapWishes wishes)
    {
        if (wishes.Known is not { } known)
        {
            return BlockFromTape.Solve(wishes.Tape!.ToMeasures());
        }

        if (wishes.Tape is { } tape)
        {
            return BlockFromTape.Solve(known.Block.Corners, tape.ToMeasures());
        }

        return new(known.Block.Corners, Length.Zero, "", [], []);
    }

    // No further than the known quilt reaches: what surrounds it is no cloth to look for seams in.
    private static Box<ClothSpace> LimitOf(MapWishes wishes, TapedBlock block, Box<ClothSpace> around)
    {
        double most = MostBlocks * Math.Max(around.Width, around.Height);
        Box<ClothSpace> far = around.Grown(most);
        return wishes.Known is { } known
            ? new(
                Math.Max(far.Left, 0),
                Math.Max(far.Top, 0),
                Math.Min(far.Right, known.Map.Width.Inches),
                Math.Min(far.Bottom, known.Map.Height.Inches)
            )
            : far;
    }

    private static Box<ClothSpace> Grown(Box<ClothSpace> from, Box<ClothSpace> limit, Func<Box<ClothSpace>, bool> holds)
    {
        Box<ClothSpace> area = from;
        bool grew = true;
        while (grew)
        {
            grew = false;
            for (int side = 0; side < 4; side++)
            {
                Box<ClothSpace> wider = side switch
                {
                    0 => area with { Left = Math.Min(area.Left, Math.Max(area.Left - Step, limit.Left)) },
                    1 => area with { Top = Math.Min(area.Top, Math.Max(area.Top - Step, limit.Top)) },
                    2 => area with { Right = Math.Max(area.Right, Math.Min(area.Right + Step, limit.Right)) },
                    _ => area with { Bottom = Math.Max(area.Bottom, Math.Min(area.Bottom + Step, limit.Bottom)) },
                };
                if (wider != area && holds(wider))
                {
                    (area, grew) = (wider, true);
                }
            }
        }

        return area;
    }

    // The error grows outward, so the corners and the sides' middles have the largest.
    private static double ErrorIn(PlaneFit plane, Box<ClothSpace> box) =>
        ErrorField.SigmasWithin95
        * Corners(box)
            .Concat(Corners(box).Zip(Corners(box).Skip(1).Append(Corners(box)[0]), (a, b) => a.Toward(b, 0.5)))
            .Max(p => plane.SigmaAt(p).Inches is var s && double.IsFinite(s) ? s : double.PositiveInfinity);

    private static Finding Reach(PlaneFit plane, Box<ClothSpace> block, MapWishes wishes)
    {
        List<string> words = [];
        foreach ((double error, string name) in new[] { (1.0 / 16, "1/16"), (1.0 / 8, "1/8"), (1.0 / 4, "1/4") })
        {
            if (ReachOf(plane, block, Length.FromInches(error)) is { } reach)
            {
                words.Add(
                    reach > Length.Zero
                        ? $"within {name} in up to {reach.ToSixteenths()} in from it"
                        : $"within {name} in on the block itself"
                );
            }
        }

        return new(
            "inches-from-one-block",
            words.Count > 0
                ? "95 % of places are " + string.Join(", ", words)
                : "on the block itself they are 1/4 in or more off",
            wishes.Known is null
                ? "The map ends where 1/4 in is reached; beyond, map another block by its own measures, or lay marker cards."
                : "Farther out trust the points that fit the known quilt, or lay marker cards."
        );
    }

    private static IEnumerable<Finding> Unmeasured(MapWishes wishes) =>
        wishes is { Known: { } known, Tape: null }
            ?
            [
                new(
                    "scale-from-known-block",
                    $"block {known.Block.Id}",
                    "Its inches are those of the earlier map, so draw-up since then can't be seen; give --sides and --diagonals as the tape says now."
                ),
            ]
            : [];

    private static Point<ClothSpace>[] Corners(Box<ClothSpace> box) =>
        [new(box.Left, box.Top), new(box.Right, box.Top), new(box.Right, box.Bottom), new(box.Left, box.Bottom)];

    private sealed class Moved<TTo, TMiddle, TFrom>(IMap<TTo, TMiddle> outer, IMap<TMiddle, TFrom> inner)
        : IMap<TTo, TFrom>
        where TTo : ISpace
        where TMiddle : ISpace
        where TFrom : ISpace
    {
        public Point<TTo> Apply(Point<TFrom> point) => outer.Apply(inner.Apply(point));
    }
}
