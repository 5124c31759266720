using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Detection;

public sealed class SeamFinderTests : IDisposable
{
    private readonly SeamFinder finder = new();

    public enum Kind
    {
        Black,
        White,
        Noise,
        Gradient,
        Text,
        Checks,
    }

    public void Dispose() => finder.Dispose();

    [Theory]
    [InlineData(Kind.Black, 300, 200)]
    [InlineData(Kind.White, 17, 400)]
    [InlineData(Kind.Noise, 320, 320)]
    [InlineData(Kind.Gradient, 256, 300)]
    [InlineData(Kind.Text, 400, 256)]
    [InlineData(Kind.Checks, 320, 320)]
    [InlineData(Kind.Black, 1, 1)]
    public void Any_picture_gives_a_sound_map(Kind kind, int width, int height)
    {
        Picture picture = Draw(kind, width, height, 32);
        DetectedQuilt quilt = finder.Find(picture, WishesFor(picture));
        MapInspection inspection = MapCheck.Inspect(quilt.Map);
        Assert.True(inspection.IsPlane);
        Assert.DoesNotContain(inspection.Findings, f => f.What == "seam-dangles");
        Assert.All(quilt.Map.Seams, s => Assert.InRange(s.Confidence, 0, 1));
    }

    [Theory]
    [InlineData(Kind.Black)]
    [InlineData(Kind.White)]
    [InlineData(Kind.Gradient)]
    public void Cloth_without_seams_gives_the_outline_alone_and_says_so(Kind kind)
    {
        Picture picture = Draw(kind, 256, 256, 32);
        DetectedQuilt quilt = finder.Find(picture, WishesFor(picture));
        Assert.Equal(4, quilt.Map.Seams.Count);
        Assert.All(quilt.Map.Seams, s => Assert.Equal(SeamRole.Edge, s.Role));
        Assert.Contains(quilt.Findings, f => f.What == "no-seams");
    }

    [Fact]
    public void Four_plain_squares_are_found_with_their_colours()
    {
        Picture picture = FourSquares(32);
        DetectedQuilt quilt = finder.Find(picture, WishesFor(picture));
        Assert.Equal(4, quilt.Map.Patches.Count);
        Assert.Contains(quilt.Map.Junctions, j => j.Place.DistanceTo(new(4, 4)) < 1 / 32.0);
        Assert.Equal(
            ["#285078", "#a03c32", "#d2c8b4", "#5a8c46"],
            quilt
                .Map.Patches.Select(p => p.Color)
                .OrderBy(c => Array.IndexOf(["#285078", "#a03c32", "#d2c8b4", "#5a8c46"], c))
        );
        Assert.Equal("four-patch", Assert.Single(quilt.Map.Blocks).Pattern);
    }

    [Theory]
    [InlineData(20)]
    [InlineData(48)]
    [InlineData(75)]
    public void The_picture_may_be_finer_or_coarser_than_the_network(double density)
    {
        Picture picture = FourSquares(density);
        DetectedQuilt quilt = finder.Find(picture, WishesFor(picture));

        // Half a pixel of the coarsest picture is 1/40 in.
        Assert.Contains(quilt.Map.Junctions, j => j.Place.DistanceTo(new(4, 4)) < 1 / 32.0);
        Assert.Equal(4, quilt.Map.Patches.Count);
    }

    [Fact]
    public void A_coarse_picture_is_said_to_be_coarse()
    {
        Picture picture = FourSquares(10);
        Assert.Contains(finder.Find(picture, WishesFor(picture)).Findings, f => f.What == "picture-too-coarse");
    }

    [Fact]
    public void The_same_picture_gives_the_same_map()
    {
        Picture picture = Draw(Kind.Checks, 320, 256, 32);
        QuiltMap a = finder.Find(picture, WishesFor(picture)).Map;
        QuiltMap b = finder.Find(picture, WishesFor(picture)).Map;
        Assert.Equal(a.Junctions.Select(j => j.Place), b.Junctions.Select(j => j.Place));
        Assert.Equal(
            a.Seams.Select(s => (s.From, s.To, s.Confidence)),
            b.Seams.Select(s => (s.From, s.To, s.Confidence))
        );
    }

    [Fact]
    public void A_picture_without_a_scale_is_refused()
    {
        Picture picture = new(4, 4, new byte[48]);
        DetectionWishes wishes = new() { Width = Length.FromInches(1), Height = Length.FromInches(1) };
        Assert.Throws<InputException>(() => finder.Find(picture, wishes));
    }

    [Fact]
    public void The_pixel_rule_holds_both_ways()
    {
        // Pixel 0 covers the first 1/32 in beyond the margin's edge, so its centre lies half a pixel inside.
        EvidenceMap map = new(64, 64, new float[4096], new float[4096], 32, 32, 0.5);
        Assert.Equal(0.5 / 32 - 0.5, map.ToCloth(0, 0).X, 1e-12);
        (double x, double y) = map.ToPixel(map.ToCloth(12.25, 40.5));
        Assert.Equal(12.25, x, 1e-9);
        Assert.Equal(40.5, y, 1e-9);
    }

    private static DetectionWishes WishesFor(Picture p) =>
        new()
        {
            Width = Length.FromInches(p.Width / p.PixelsPerInch!.Value),
            Height = Length.FromInches(p.Height / p.PixelsPerInch.Value),
        };

    private static Picture FourSquares(double density)
    {
        (byte, byte, byte)[] colors = [(0x28, 0x50, 0x78), (0xa0, 0x3c, 0x32), (0xd2, 0xc8, 0xb4), (0x5a, 0x8c, 0x46)];
        int side = (int)(8 * density);
        byte[] rgb = new byte[side * side * 3];
        for (int y = 0; y < side; y++)
        {
            for (int x = 0; x < side; x++)
            {
                (byte r, byte g, byte b) = colors[(2 * y < side ? 0 : 2) + (2 * x < side ? 0 : 1)];
                int at = (y * side + x) * 3;
                (rgb[at], rgb[at + 1], rgb[at + 2]) = (r, g, b);
            }
        }

        return new(side, side, rgb, density);
    }

    private static Picture Draw(Kind kind, int width, int height, double density)
    {
        Random random = new(7);
        byte[] rgb = new byte[width * height * 3];
        for (int y = 0; y < height; y++)
        {
            for (int x = 0; x < width; x++)
            {
                int v = kind switch
                {
                    Kind.Black => 0,
                    Kind.White => 255,
                    Kind.Noise => random.Next(256),
                    Kind.Gradient => 60 + 120 * x / width + 40 * y / height,
                    Kind.Text => y % 22 < 12 && (x * 7 + y / 22 * 13) % 17 < 6 && (x + y) % 5 < 3 ? 20 : 235,
                    _ => (x / 24 + y / 24) % 2 == 0 ? 60 : 200,
                };
                int at = (y * width + x) * 3;
                rgb[at] = rgb[at + 1] = rgb[at + 2] = (byte)v;
            }
        }

        return new(width, height, rgb, density);
    }
}
