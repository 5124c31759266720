using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>What one photo shows of a mosaic: the part of it that the photo reaches, seen from above, and how well.</summary>
/// <remarks>
/// Only that part is drawn, and weights are kept on a coarse grid: a dozen photos of a large top take no more memory than the
/// cloth that they show.
/// </remarks>
internal sealed class PhotoView
{
    // The change between photos happens within this part of the frame's longer side.
    private const double Feather = 0.08;
    private const int Grid = 8;

    private readonly double[] weights;
    private readonly int across;
    private readonly Picture? picture;

    private PhotoView(double[] weights, int across, int left, int top, Picture? picture)
    {
        this.weights = weights;
        this.across = across;
        this.picture = picture;
        Left = left;
        Top = top;
        Right = left + (picture?.Width ?? 0);
        Bottom = top + (picture?.Height ?? 0);
    }

    /// <summary>First column of the mosaic that the photo may show.</summary>
    public int Left { get; }

    /// <summary>First row of the mosaic that the photo may show.</summary>
    public int Top { get; }

    /// <summary>The column after the last one.</summary>
    public int Right { get; }

    /// <summary>The row after the last one.</summary>
    public int Bottom { get; }

    /// <summary>That part of the cloth from above; null where the photo shows nothing of the mosaic.</summary>
    public Picture? Picture => picture;

    /// <summary>Draws what a photo shows.</summary>
    /// <param name="photo">The photo.</param>
    /// <param name="plane">Its plane.</param>
    /// <param name="frame">The mosaic.</param>
    /// <param name="shift">How the photo is moved on the cloth; null where it stays.</param>
    public static PhotoView Of(
        Photo photo,
        PlaneFit plane,
        MosaicFrame frame,
        PlaneShift? shift,
        CancellationToken ct = default
    )
    {
        IMap<PhotoSpace, ClothSpace> photoFromCloth = shift is null
            ? plane.PhotoFromCloth
            : new Chain<PhotoSpace, ClothSpace, ClothSpace>(plane.PhotoFromCloth, shift);
        int columns = frame.Width / Grid + 2;
        int rows = frame.Height / Grid + 2;
        double[] shares = WeightsOf(photo, plane, photoFromCloth, frame, columns, rows);

        // A pixel's weight comes from the four crossings round it.
        int[] shown = [.. Enumerable.Range(0, shares.Length).Where(k => shares[k] > 0)];
        if (shown.Length == 0)
        {
            return new(shares, columns, 0, 0, null);
        }

        int left = Math.Max(0, (shown.Min(k => k % columns) - 1) * Grid);
        int top = Math.Max(0, (shown.Min(k => k / columns) - 1) * Grid);
        int right = Math.Min(frame.Width, (shown.Max(k => k % columns) + 1) * Grid);
        int bottom = Math.Min(frame.Height, (shown.Max(k => k / columns) + 1) * Grid);
        if (right <= left || bottom <= top)
        {
            return new(shares, columns, 0, 0, null);
        }

        Point<ClothSpace> middle = frame.ClothFromPicture.Apply(new Point<PictureSpace>(left, top));
        Similarity<ClothSpace, ClothSpace> clothFromPart = new(
            1,
            0,
            middle.X - 0.5 / frame.PixelsPerInch,
            middle.Y - 0.5 / frame.PixelsPerInch
        );
        Picture part = Rectification.Rectify(
            photo,
            new Chain<PhotoSpace, ClothSpace, ClothSpace>(photoFromCloth, clothFromPart),
            Length.FromInches((right - left) / frame.PixelsPerInch),
            Length.FromInches((bottom - top) / frame.PixelsPerInch),
            frame.PixelsPerInch,
            ct: ct
        );
        return new(shares, columns, left, top, part);
    }

    /// <summary>How well the photo shows a pixel of the mosaic: 0 outside it, else rising from its border.</summary>
    public float WeightAt(int x, int y)
    {
        if (x < Left || x >= Right || y < Top || y >= Bottom)
        {
            return 0;
        }

        double fx = (double)(x % Grid) / Grid;
        double fy = (double)(y % Grid) / Grid;
        int k = y / Grid * across + x / Grid;
        double v =
            (1 - fy) * ((1 - fx) * weights[k] + fx * weights[k + 1])
            + fy * ((1 - fx) * weights[k + across] + fx * weights[k + across + 1]);
        return (float)Math.Max(0, v);
    }

    /// <summary>The box round what the photo shows, inches; null where it shows nothing of the mosaic.</summary>
    public Box<ClothSpace>? ShownIn(MosaicFrame frame) =>
        picture is null
            ? null
            : Box<ClothSpace>.Around(
                frame.ClothFromPicture.Apply(new Point<PictureSpace>(Left, Top)),
                frame.ClothFromPicture.Apply(new Point<PictureSpace>(Right - 1, Bottom - 1))
            );

    /// <summary>Red, green and blue of a pixel of the mosaic, which must lie in the view's part.</summary>
    public ReadOnlySpan<byte> PixelAt(int x, int y) =>
        picture!.Rgb.AsSpan(picture.IndexOf(x - Left, y - Top), Picture.Channels);

    private static double[] WeightsOf(
        Photo photo,
        PlaneFit plane,
        IMap<PhotoSpace, ClothSpace> photoFromCloth,
        MosaicFrame frame,
        int columns,
        int rows
    )
    {
        double feather = Feather * Math.Max(photo.Picture.Width, photo.Picture.Height);
        double[] shares = new double[columns * rows];
        Parallel.For(
            0,
            rows,
            j =>
            {
                for (int i = 0; i < columns; i++)
                {
                    Point<ClothSpace> at = frame.ClothFromPicture.Apply(new Point<PictureSpace>(i * Grid, j * Grid));
                    Point<PhotoSpace> seen = photoFromCloth.Apply(at);
                    double inside = Math.Min(
                        Math.Min(seen.X, photo.Picture.Width - 1 - seen.X),
                        Math.Min(seen.Y, photo.Picture.Height - 1 - seen.Y)
                    );
                    double density = PlaneFromCorners.DensityAt(photoFromCloth, at) / plane.PixelsPerInch;
                    shares[j * columns + i] =
                        seen.IsFinite && double.IsFinite(density)
                            ? inside / feather * Math.Min(4, density * density)
                            : -1;
                }
            }
        );
        return shares;
    }
}
