using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public class RectificationTests
{
    // An oblique view; the pattern below is a smooth wave, so that its phase in the result says where it lies.
    private static readonly Point<PhotoSpace>[] Corners =
    [
        new(310, 250),
        new(1720, 190),
        new(1850, 1330),
        new(180, 1280),
    ];

    [Theory]
    [InlineData(12.0, 0.0)] // shrinks about 4 times
    [InlineData(24.0, 0.0)]
    [InlineData(33.0, 1.0)]
    [InlineData(50.0, 0.5)] // about one to one
    [InlineData(110.0, 0.0)] // enlarges
    [InlineData(5.0, 1.0)] // halved first
    public void Nothing_shifts_by_a_twentieth_of_a_pixel(double pixelsPerInch, double margin)
    {
        Length w = Length.FromInches(36);
        Length h = Length.FromInches(24);
        PlaneFit fit = PlaneFromCorners.Solve(Corners, w, h, 2000, 1500);

        // Waves of 2 in, or longer where a pixel is coarse.
        double wave = Math.Max(2, 8 / pixelsPerInch);
        Photo photo = Paint(
            2000,
            1500,
            p =>
            {
                Point<ClothSpace> c = fit.ClothFromPhoto.Apply(p);
                return (Wave(c.X, wave), Wave(c.Y, wave));
            }
        );
        Picture flat = Rectification.Rectify(photo, fit.PhotoFromCloth, w, h, pixelsPerInch, Length.FromInches(margin));
        Similarity<ClothSpace, PictureSpace> clothFromPicture = Rectification.ClothFromPicture(
            pixelsPerInch,
            Length.FromInches(margin)
        );

        double shiftX = PhaseShift(flat, 0, clothFromPicture, wave) * pixelsPerInch;
        double shiftY = PhaseShift(flat, 1, clothFromPicture, wave) * pixelsPerInch;
        Assert.InRange(shiftX, -0.05, 0.05);
        Assert.InRange(shiftY, -0.05, 0.05);
    }

    [Fact]
    public void Pixel_0_0_shows_half_a_pixel_into_the_margin_and_the_picture_covers_area_and_margin()
    {
        Similarity<ClothSpace, PictureSpace> clothFromPicture = Rectification.ClothFromPicture(
            32,
            Length.FromInches(1)
        );
        Point<ClothSpace> first = clothFromPicture.Apply(new Point<PictureSpace>(0, 0));
        Assert.Equal(0.5 / 32 - 1, first.X, 12);
        Assert.Equal(0.5 / 32 - 1, first.Y, 12);
        Point<PictureSpace> origin = Rectification
            .PictureFromCloth(32, Length.FromInches(1))
            .Apply(new Point<ClothSpace>(0, 0));
        Assert.Equal(31.5, origin.X, 12);

        PlaneFit fit = PlaneFromCorners.Solve(Corners, Length.FromInches(36), Length.FromInches(24), 2000, 1500);
        Photo photo = Paint(2000, 1500, _ => (128, 128));
        Picture flat = Rectification.Rectify(
            photo,
            fit.PhotoFromCloth,
            Length.FromInches(36),
            Length.FromInches(24),
            32,
            Length.FromInches(1)
        );
        Assert.Equal((38 * 32, 26 * 32), (flat.Width, flat.Height));
        Assert.Equal(32, flat.PixelsPerInch);
    }

    [Fact]
    public void Stripes_finer_than_a_pixel_become_grey_and_no_false_pattern()
    {
        Length w = Length.FromInches(36);
        Length h = Length.FromInches(24);
        PlaneFit fit = PlaneFromCorners.Solve(Corners, w, h, 2000, 1500);

        // One-pixel stripes of the photo, black and white; the result has 1/4 of its pixels each way.
        Photo photo = Paint(
            2000,
            1500,
            p => ((byte)((int)Math.Round(p.X) % 2 * 255), (byte)((int)Math.Round(p.Y) % 2 * 255))
        );
        Picture flat = Rectification.Rectify(photo, fit.PhotoFromCloth, w, h, 11);
        double mean = flat.Rgb.Where((_, i) => i % 3 != 2).Average(v => (double)v);
        double spread = Math.Sqrt(flat.Rgb.Where((_, i) => i % 3 != 2).Average(v => (v - mean) * (v - mean)));

        // Point sampling would keep a spread of 127.
        Assert.InRange(mean, 122, 133);
        Assert.True(spread < 25, "stripes are still to be seen");
    }

    [Fact]
    public void A_lens_is_taken_out_of_the_picture()
    {
        LensProfile lens = new(2000, 1500, 1500, 1500, 1003, 744, [-0.15, 0.05, 0.001, -0.001, 0]);
        PlaneFit fit = PlaneFromCorners.Solve(Corners, Length.FromInches(36), Length.FromInches(24), 2000, 1500, lens);
        Photo photo = Paint(
            2000,
            1500,
            p =>
            {
                Point<ClothSpace> c = fit.ClothFromPhoto.Apply(p);
                return c.IsFinite ? (Wave(c.X, 2), Wave(c.Y, 2)) : ((byte)0, (byte)0);
            }
        );
        Picture flat = Rectification.Rectify(
            photo,
            fit.PhotoFromCloth,
            Length.FromInches(36),
            Length.FromInches(24),
            32
        );

        Assert.InRange(PhaseShift(flat, 0, Rectification.ClothFromPicture(32), 2) * 32, -0.05, 0.05);
        Assert.InRange(PhaseShift(flat, 1, Rectification.ClothFromPicture(32), 2) * 32, -0.05, 0.05);
    }

    [Fact]
    public void The_density_is_what_is_wanted_unless_the_picture_would_be_too_large()
    {
        Assert.Equal(32, Rectification.ChooseDensity(Length.FromInches(36), Length.FromInches(24)));

        // 36 million pixels over 400 × 400 in are 15 to the inch.
        Assert.Equal(15, Rectification.ChooseDensity(Length.FromInches(400), Length.FromInches(400)), 9);
        PlaneFit fit = PlaneFromCorners.Solve(Corners, Length.FromInches(36), Length.FromInches(24), 2000, 1500);
        Photo photo = Paint(2000, 1500, _ => (0, 0));
        Assert.Throws<InputException>(() =>
            Rectification.Rectify(photo, fit.PhotoFromCloth, Length.FromInches(36), Length.FromInches(24), 1000)
        );
    }

    private static byte Wave(double v, double length) =>
        (byte)Math.Round(127.5 + 110 * Math.Cos(2 * Math.PI * v / length));

    private static Photo Paint(int width, int height, Func<Point<PhotoSpace>, (byte R, byte G)> colour)
    {
        byte[] rgb = new byte[width * height * 3];
        Parallel.For(
            0,
            height,
            y =>
            {
                for (int x = 0; x < width; x++)
                {
                    int i = (y * width + x) * 3;
                    (rgb[i], rgb[i + 1]) = colour(new(x, y));
                }
            }
        );
        return new(new(width, height, rgb), "painted", PhotoFacts.None);
    }

    // How far, in inches, the wave in a channel lies from where it belongs: the phase of its Fourier coefficient, over whole
    // waves of the mapped area.
    private static double PhaseShift(
        Picture flat,
        int channel,
        Similarity<ClothSpace, PictureSpace> clothFromPicture,
        double wave
    )
    {
        double re = 0;
        double im = 0;
        for (int y = 0; y < flat.Height; y++)
        {
            for (int x = 0; x < flat.Width; x++)
            {
                Point<ClothSpace> c = clothFromPicture.Apply(new Point<PictureSpace>(x, y));
                if (c.X < 2 || c.X > 34 || c.Y < 2 || c.Y > 22)
                {
                    continue;
                }

                double phase = 2 * Math.PI * (channel == 0 ? c.X : c.Y) / wave;
                double v = flat.Rgb[flat.IndexOf(x, y) + channel] - 127.5;
                re += v * Math.Cos(phase);
                im += v * Math.Sin(phase);
            }
        }

        return Math.Atan2(im, re) / (2 * Math.PI) * wave;
    }
}
