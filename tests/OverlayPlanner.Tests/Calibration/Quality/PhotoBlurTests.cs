using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration.Quality;

/// <summary>The smear that is measured against the one that was made. The scoreboard asks the same of real photographs.</summary>
public class PhotoBlurTests
{
    private static readonly Lazy<Picture> Part = new(() =>
        Cut(PhotoReader.Read(OverlayPlanner.Workflows.Sample.Load().Jpeg, "sample.jpg").Picture, 1_600, 1_200)
    );

    [Fact]
    public void A_wider_smear_measures_wider_and_a_sharp_picture_measures_nearly_none()
    {
        double[] made = [0, 2, 3, 4, 6, 8];
        double[] read = [.. made.Select(s => PhotoBlur.Of(SmearedPhoto.Defocused(Part.Value, s)).Pixels)];
        Assert.Equal(read.Order(), read);
        Assert.InRange(read[0], 0, 1.5);

        // Within a third, as the summary says; the picture's own smear and its prints are in it.
        foreach ((double s, double r) in made.Zip(read).Where(p => p.First >= 4))
        {
            Assert.InRange(r / s, 0.67, 1.33);
        }
    }

    [Theory]
    [InlineData(0)]
    [InlineData(36)]
    [InlineData(90)]
    public void A_movement_is_seen_whichever_way_it_went(double degrees)
    {
        double[] read =
        [
            .. new double[] { 8, 16, 24, 32 }.Select(n =>
                PhotoBlur.Of(SmearedPhoto.Moved(Part.Value, n, degrees)).Pixels
            ),
        ];
        Assert.Equal(read.Order(), read);

        // n / √12 is the line's standard deviation; its sharp ends make it look up to a half narrower.
        Assert.InRange(read[^1], 0.5 * 32 / Math.Sqrt(12), 1.2 * 32 / Math.Sqrt(12));
    }

    [Fact]
    public void Contrast_has_no_say()
    {
        Picture smeared = SmearedPhoto.Defocused(Part.Value, 4);
        Picture dark = new(smeared.Width, smeared.Height, [.. smeared.Rgb.Select(b => (byte)(10 + b / 3))]);
        Assert.Equal(PhotoBlur.Of(smeared).Pixels, PhotoBlur.Of(dark).Pixels, 0.5);
    }

    [Fact]
    public void A_picture_of_nothing_tells_nothing() =>
        Assert.False(PhotoBlur.Of(new(300, 200, [.. Enumerable.Repeat((byte)90, 300 * 200 * 3)])).IsKnown);

    private static Picture Cut(Picture whole, int width, int height)
    {
        byte[] rgb = new byte[width * height * Picture.Channels];
        (int left, int top) = ((whole.Width - width) / 2, (whole.Height - height) / 2);
        for (int y = 0; y < height; y++)
        {
            whole
                .Rgb.AsSpan(whole.IndexOf(left, top + y), width * Picture.Channels)
                .CopyTo(rgb.AsSpan(y * width * Picture.Channels));
        }

        return new(width, height, rgb);
    }
}
