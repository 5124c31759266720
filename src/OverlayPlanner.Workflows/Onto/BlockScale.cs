using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>Scale without cards: the four touched corners of one block of the known quilt, led on over what the photograph shows.</summary>
internal static class BlockScale
{
    private const double Step = 0.5;

    // Beyond a few blocks' length the corners' own errors lead too far for points to be told apart.
    private const double MostBlocks = 4;

    /// <summary>The rectangle round the block that the photograph shows, as four corners and a size.</summary>
    /// <exception cref="InputException">The corners are no block's.</exception>
    public static MapWishes Widened(
        CardMapQuestion question,
        QuiltMap known,
        TouchedBlock touched,
        CancellationToken cancellation
    )
    {
        IReadOnlyList<Point<ClothSpace>> c = known.FindBlock(touched.Block)!.Corners;
        double width = (c[0].DistanceTo(c[1]) + c[3].DistanceTo(c[2])) / 2;
        double height = (c[0].DistanceTo(c[3]) + c[1].DistanceTo(c[2])) / 2;
        Photo photo = PhotoReader.Read(question.Photos[0], cancellation);
        LensProfile? lens = question.Lens is { } path ? LensProfile.Read(InputFiles.ReadAll(path), path) : null;
        IMap<PhotoSpace, ClothSpace> photoFromCloth = PlaneFromCorners
            .Solve(
                touched.At,
                Length.FromInches(width),
                Length.FromInches(height),
                photo.Picture.Width,
                photo.Picture.Height,
                lens
            )
            .PhotoFromCloth;
        Box<PhotoSpace> frame = new(4, 4, photo.Picture.Width - 5, photo.Picture.Height - 5);

        // No further than the known quilt reaches: what surrounds it is no cloth to look for seams in.
        double most = MostBlocks * Math.Max(width, height);
        Box<ClothSpace> limit = new(
            Math.Max(-most, -c[0].X),
            Math.Max(-most, -c[0].Y),
            Math.Min(width + most, known.Width.Inches - c[0].X),
            Math.Min(height + most, known.Height.Inches - c[0].Y)
        );
        Box<ClothSpace> area = new(0, 0, width, height);
        bool grew = true;
        while (grew)
        {
            grew = false;
            foreach (
                Box<ClothSpace> wider in new[]
                {
                    area with
                    {
                        Left = Math.Max(area.Left - Step, limit.Left),
                    },
                    area with
                    {
                        Top = Math.Max(area.Top - Step, limit.Top),
                    },
                    area with
                    {
                        Right = Math.Min(area.Right + Step, limit.Right),
                    },
                    area with
                    {
                        Bottom = Math.Min(area.Bottom + Step, limit.Bottom),
                    },
                }
            )
            {
                Box<ClothSpace> both = area.With(wider);
                if (both != area && Corners(both).All(p => frame.Holds(photoFromCloth.Apply(p))))
                {
                    (area, grew) = (both, true);
                }
            }
        }

        return new()
        {
            Photo = question.Photos[0],
            Corners = [.. Corners(area).Select(photoFromCloth.Apply)],
            Width = Length.FromInches(area.Width),
            Height = Length.FromInches(area.Height),
            Lens = question.Lens,
            Outline = EdgeKind.Cut,
            Hints = question.Hints,
            Extras = question.Extras with { OutlineFromPicture = false },
        };
    }

    private static Point<ClothSpace>[] Corners(Box<ClothSpace> box) =>
        [new(box.Left, box.Top), new(box.Right, box.Top), new(box.Right, box.Bottom), new(box.Left, box.Bottom)];
}
