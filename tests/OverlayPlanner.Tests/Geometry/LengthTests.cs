using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

public class LengthTests
{
    [Theory]
    [InlineData("12", 12)]
    [InlineData("12.5", 12.5)]
    [InlineData(".5", 0.5)]
    [InlineData("12in", 12)]
    [InlineData("12 in", 12)]
    [InlineData("12 IN", 12)]
    [InlineData("12\"", 12)]
    [InlineData("12 1/2", 12.5)]
    [InlineData(" 12  1/2\"", 12.5)]
    [InlineData("12\t1/2 in", 12.5)]
    [InlineData("3/8", 0.375)]
    [InlineData("-3/8", -0.375)]
    [InlineData("-1 1/2", -1.5)] // one and a half below zero, not −1 + 1/2
    [InlineData("+1 1/2", 1.5)]
    [InlineData("1e1", 10)]
    [InlineData("0", 0)]
    [InlineData("25.4mm", 1)] // 1 in = 25.4 mm by definition
    [InlineData("-25.4 MM", -1)]
    [InlineData("305mm", 305 / 25.4)]
    public void A_length_is_read_as_a_quilter_writes_it(string text, double inches)
    {
        Assert.True(Length.TryParse(text, out Length length));
        Assert.Equal(inches, length.Inches, 1e-14);
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("   ")]
    [InlineData("in")]
    [InlineData("mm")]
    [InlineData("-")]
    [InlineData("12,5")]
    [InlineData("1,000")]
    [InlineData("NaN")]
    [InlineData("Infinity")]
    [InlineData("-Infinity")]
    [InlineData("∞")]
    [InlineData("1e400")]
    [InlineData("1/0")]
    [InlineData("1/")]
    [InlineData("/2")]
    [InlineData("1/2/3")]
    [InlineData("1/-2")]
    [InlineData("1.5/2")]
    [InlineData("1.5 1/2")]
    [InlineData("12 12")] // not 24
    [InlineData("1/2 3")]
    [InlineData("1 -1/2")]
    [InlineData("1 1/2 1/4")]
    [InlineData("--1")]
    [InlineData("- 1")]
    [InlineData("12cm")]
    [InlineData("twelve")]
    [InlineData("0x10")]
    public void What_is_no_finite_length_is_refused(string? text)
    {
        Assert.False(Length.TryParse(text, out Length length));
        Assert.Equal(Length.Zero, length);
    }

    [Theory]
    [InlineData(0, "0")]
    [InlineData(12, "12")]
    [InlineData(12.5, "12 1/2")]
    [InlineData(0.375, "3/8")]
    [InlineData(0.1875, "3/16")]
    [InlineData(12.1875, "12 3/16")]
    [InlineData(11.97, "12")] // 11.97 × 16 = 191.52, to 192
    [InlineData(0.03, "0")] // 0.48 sixteenths
    [InlineData(0.03125, "1/16")] // half a sixteenth goes up
    [InlineData(-1.5, "-1 1/2")]
    [InlineData(-0.01, "0")] // no minus before a nought
    [InlineData(4.3936, "4 3/8")] // 15 / (2 + √2): 70.30 sixteenths
    public void Sixteenths_are_reduced_and_rounded_to_the_nearest(double inches, string text) =>
        Assert.Equal(text, Length.FromInches(inches).ToSixteenths());

    [Fact]
    public void Sixteenths_read_back_to_within_half_a_sixteenth() =>
        Property.ForAll(
            CsCheck.Gen.Double[-500, 500],
            inches =>
            {
                Assert.True(Length.TryParse(Length.FromInches(inches).ToSixteenths(), out Length back));
                Assert.Equal(inches, back.Inches, (1 / 32.0) + 1e-12);
            }
        );

    [Fact]
    public void Units_agree_with_their_definitions()
    {
        Assert.Equal(25.4, Length.FromInches(1).Millimeters); // exact since 1959
        Assert.Equal(72, Length.FromInches(1).Points); // a PDF point is 1/72 in
        Assert.Equal(2, Length.FromMillimeters(50.8).Inches, 1e-15);
        Assert.Equal(2, Length.FromPoints(144).Inches, 1e-15);
        Assert.True(Length.FromMillimeters(25) < Length.FromInches(1));
    }
}
