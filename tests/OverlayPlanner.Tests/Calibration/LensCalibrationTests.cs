using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public sealed class LensCalibrationTests
{
    private static readonly LensProfile True = new(1200, 900, 950, 950, 606, 443, [-0.12, 0.05, 0, 0, 0]);

    [Fact]
    public void The_printed_board_gives_the_lens_back_within_its_stated_error()
    {
        LensCalibrationResult result = LensCalibration.Solve([.. Views(10)], CalibrationBoard.Printed);
        Assert.Equal(10, result.Photos.Count(p => p.Use == BoardPhotoUse.Used));
        Assert.True(result.RmsPixels < 0.15);
        Assert.DoesNotContain("p1", result.Model, StringComparison.Ordinal);
        double[] found = [result.Lens.Fx, result.Lens.Fy, result.Lens.Cx, result.Lens.Cy, .. result.Lens.Distortion];
        double[] expected = [True.Fx, True.Fy, True.Cx, True.Cy, .. True.Distortion];
        for (int k = 0; k < 6; k++)
        {
            // Four sigma: six numbers, one seed.
            double sigma = Math.Sqrt(result.Lens.Covariance![k][k]);
            Assert.True(sigma > 0 && Math.Abs(found[k] - expected[k]) < 4 * sigma + 1e-3);
        }
    }

    [Fact]
    public void A_board_seen_in_part_is_enough()
    {
        // Shifted so far that a third of the board lies outside the frame.
        Photo[] photos = [.. Views(9).Select((_, i) => BoardRenderer.Render(True, Pose(i, 4.5), 50 + i))];
        LensCalibrationResult result = LensCalibration.Solve(photos, CalibrationBoard.Printed);
        Assert.True(result.Photos.Count(p => p.Use == BoardPhotoUse.Used) >= 7);
        Assert.Contains(result.Photos, p => p.Corners < 54);
        Assert.Equal(True.Fx, result.Lens.Fx, 5 * Math.Sqrt(result.Lens.Covariance![0][0]));
    }

    [Fact]
    public void Boards_all_held_flat_are_told_to_be_tilted()
    {
        Photo[] photos =
        [
            .. Enumerable
                .Range(0, 4)
                .Select(i => BoardRenderer.Render(True, [0.02 * i, -0.03, 0.5 * i, -1 + i, 0.5, 11 + i], i)),
        ];
        LensCalibrationResult result = LensCalibration.Solve(photos, CalibrationBoard.Printed);
        Assert.Contains(result.Findings, f => f.What == "boards-not-tilted");
        Assert.Contains(result.Findings, f => f.What == "focal-length-loose");
    }

    [Fact]
    public void A_board_that_disagrees_with_the_others_is_left_out_and_named()
    {
        List<Photo> photos = [.. Views(8)];
        LensProfile zoomed = True with { Fx = 1010, Fy = 1010, Distortion = [-0.02, 0, 0, 0, 0] };
        photos[5] = BoardRenderer.Render(zoomed, Pose(5, 0), 99);
        LensCalibrationResult result = LensCalibration.Solve(photos, CalibrationBoard.Printed);
        Assert.Equal(BoardPhotoUse.Disagrees, result.Photos[5].Use);
        Assert.Contains(result.Findings, f => f.What == "photo-disagrees");
        Assert.Equal(True.Fx, result.Lens.Fx, 4.0);
    }

    [Fact]
    public void Mirrored_photos_are_called_mirrored()
    {
        Photo[] photos = [.. Views(3).Select(Mirror)];
        InputException e = Assert.Throws<InputException>(() => LensCalibration.Solve(photos, CalibrationBoard.Printed));
        Assert.Equal("The photos are mirrored", e.What);
    }

    [Fact]
    public void Photos_of_two_sizes_are_refused()
    {
        Photo one = Views(1).Single();
        Photo other = new(new Picture(900, 1200, new byte[900 * 1200 * 3]), "turned", PhotoFacts.None);
        InputException e = Assert.Throws<InputException>(() =>
            LensCalibration.Solve([one, other], CalibrationBoard.Printed)
        );
        Assert.Contains("same way up", e.Remedy, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(2, 6, 1.0)]
    [InlineData(9, 0, 1.0)]
    [InlineData(9, 6, 0.0)]
    [InlineData(9, 6, 900.0)]
    public void Boards_that_can_not_be_are_refused(int across, int down, double square) =>
        Assert.Throws<InputException>(() => CalibrationBoard.Chessboard(across, down, Length.FromInches(square)));

    private static IEnumerable<Photo> Views(int count) =>
        Enumerable.Range(0, count).Select(i => BoardRenderer.Render(True, Pose(i, 0), i));

    // Tilted each way by half a radian, near and far, here and there in the frame.
    private static double[] Pose(int i, double aside) =>
        [
            0.5 * Math.Cos(1.3 * i),
            0.5 * Math.Sin(1.3 * i),
            0.2 * Math.Sin(2.1 * i),
            1.5 * Math.Sin(0.9 * i) + aside,
            1.2 * Math.Cos(1.7 * i),
            12 + 2.5 * Math.Sin(1.1 * i),
        ];

    private static Photo Mirror(Photo photo)
    {
        Picture p = photo.Picture;
        byte[] flipped = new byte[p.Rgb.Length];
        for (int y = 0; y < p.Height; y++)
        {
            for (int x = 0; x < p.Width; x++)
            {
                p.Rgb.AsSpan(p.IndexOf(x, y), 3).CopyTo(flipped.AsSpan(p.IndexOf(p.Width - 1 - x, y)));
            }
        }

        return photo with
        {
            Picture = new(p.Width, p.Height, flipped),
        };
    }
}
