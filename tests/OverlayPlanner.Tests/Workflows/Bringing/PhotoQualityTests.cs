using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Bringing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Bringing;

/// <summary>What is said of a photograph when it comes.</summary>
public class PhotoQualityTests
{
    private static readonly LengthWords Inches = new(LengthUnits.Inches);
    private static readonly LengthWords Metric = new(LengthUnits.Millimeters);
    private static readonly PhotoQuality Good = new(4_000, 3_000, 0.8, 230, 0.01, 6, 45, 12);

    [Fact]
    public void A_good_photo_is_not_spoken_of() => Assert.Empty(Good.Remarks(Inches));

    [Fact]
    public void Each_flaw_is_said_with_what_to_do()
    {
        (PhotoQuality Photo, PhotoFlaw Flaw)[] flawed =
        [
            (Good with { BlurPixels = 9 }, PhotoFlaw.Blurred),
            (Good with { PixelsPerInch = 11 }, PhotoFlaw.Far),
            (Good with { TiltDegrees = 58 }, PhotoFlaw.Tilted),
            (Good with { Light = 60 }, PhotoFlaw.Dark),
            (Good with { White = 0.2 }, PhotoFlaw.Bright),
            (Good with { Cards = 2 }, PhotoFlaw.FewCards),
        ];
        foreach ((PhotoQuality photo, PhotoFlaw flaw) in flawed)
        {
            PhotoRemark remark = Assert.Single(photo.Remarks(Inches));
            Assert.Equal(flaw, remark.Flaw);
            Assert.True(remark.IsWarning);
            Assert.EndsWith(".", remark.What, StringComparison.Ordinal);
            Assert.EndsWith(".", remark.Remedy, StringComparison.Ordinal);
        }

        PhotoQuality none = Good with { Cards = 0, PixelsPerInch = null, TiltDegrees = null };
        Assert.False(Assert.Single(none.Remarks(Inches)).IsWarning);
    }

    [Fact]
    public void A_smear_is_judged_in_inches_once_the_scale_is_known()
    {
        // 4 px of σ at 40 px/in: √(2π) · 4 / 40 = 0.25 in; at 200 px/in 0.05 in, which hides no seam.
        PhotoQuality near = Good with
        {
            BlurPixels = 4,
            PixelsPerInch = 200,
        };
        PhotoQuality far = Good with { BlurPixels = 4, PixelsPerInch = 40 };
        Assert.Empty(near.Remarks(Inches));
        Assert.Contains("about 1/4 in.", Assert.Single(far.Remarks(Inches)).What, StringComparison.Ordinal);
        Assert.Contains("about 6.4 mm.", Assert.Single(far.Remarks(Metric)).What, StringComparison.Ordinal);
        Assert.Contains(
            "pixels.",
            Assert.Single((Good with { BlurPixels = 4, PixelsPerInch = null }).Remarks(Inches)).What,
            StringComparison.Ordinal
        );
    }

    [Fact]
    public void Pins_and_sides_say_how_near_and_from_where_it_was_taken()
    {
        PhotoQuality plain = PhotoQuality.Unmeasured(2_000, 1_500);
        Point<PhotoSpace>[] square = [new(500, 300), new(1_300, 300), new(1_300, 1_100), new(500, 1_100)];

        // 800 px over 80 in are 10 to the inch, over 20 in 40.
        PhotoRemark far = Assert.Single(plain.RemarksAt(square, Length.FromInches(80), Length.FromInches(80), Inches));
        Assert.Equal(PhotoFlaw.Far, far.Flaw);
        Assert.Contains("10 pixels to the inch", far.What, StringComparison.Ordinal);
        Assert.Contains(
            "4 pixels to the centimetre",
            Assert.Single(plain.RemarksAt(square, Length.FromInches(80), Length.FromInches(80), Metric)).What,
            StringComparison.Ordinal
        );
        Assert.Empty(plain.RemarksAt(square, Length.FromInches(20), Length.FromInches(20), Inches));

        // A square that is seen half as high as wide is seen from arccos(1/2) = 60° aside.
        Point<PhotoSpace>[] low = [new(500, 300), new(1_300, 300), new(1_300, 700), new(500, 700)];
        PhotoRemark aside = Assert.Single(plain.RemarksAt(low, Length.FromInches(20), Length.FromInches(20), Inches));
        Assert.Equal(PhotoFlaw.Tilted, aside.Flaw);
        Assert.Contains("60°", aside.What, StringComparison.Ordinal);
        Assert.Empty(plain.RemarksAt([.. square.Reverse()], Length.FromInches(80), Length.FromInches(80), Inches));
    }

    [Fact]
    public void A_made_photo_with_cards_is_measured_through_them()
    {
        CardTruth truth = CardLayouts.Draw(new Random(3), CardLayout.OneBlock, 1, withProfile: true, 2_016, 1_512);
        PhotoQuality sharp = PhotoQuality.Measure(CardRenderer.Render(truth, 0, new(0.7, 2, 0), 5));
        Assert.Equal(4, sharp.Cards);
        Assert.InRange(sharp.PixelsPerInch!.Value, 30, 200);
        Assert.InRange(sharp.TiltDegrees!.Value, 0, 45);
        Assert.DoesNotContain(sharp.Remarks(Inches), r => r.Flaw is PhotoFlaw.Blurred or PhotoFlaw.Far);
        Assert.InRange(sharp.BlurPixels!.Value, 0, 1.5);
    }
}
