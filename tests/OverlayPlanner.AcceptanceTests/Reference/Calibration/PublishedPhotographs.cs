using System.Text.Json;
using OpenCvSharp;
using OpenCvSharp.Aruco;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>Corners and lenses from pictures that others made.</summary>
public sealed class PublishedPhotographs
{
    /// <summary>
    /// Thirteen photographs of a chessboard. A good result is the toolbox's, fx 533.0 ± 1.1, fy 533.15 ± 1.1 (3 sigma); the
    /// published library results near 536 are spoilt by too wide a corner window in view 02.
    /// </summary>
    [Fact]
    public void The_chessboard_photographs_give_the_good_published_lens()
    {
        LensCalibrationResult result = Chessboard();
        Assert.Equal(13, result.Photos.Count(p => p.Use == BoardPhotoUse.Used));
        Assert.Equal(533.0, result.Lens.Fx, 2.5);
        Assert.Equal(533.15, result.Lens.Fy, 2.5);
        Assert.Equal(341.59, result.Lens.Cx, 3.0);
        Assert.Equal(234.26, result.Lens.Cy, 3.0);
        Assert.True(result.RmsPixels <= 0.25);
        Assert.All(result.Photos, p => Assert.True(p.RmsPixels <= 0.35));

        // The distortion as a map, for k2 and k3 trade off: against the toolbox's, over the area that boards covered.
        LensProfile toolbox = new(
            640,
            480,
            533.004,
            533.153,
            341.586,
            234.259,
            [-0.28947, 0.10326, 0.00103, -0.00029, 0]
        );
        for (int x = 180; x <= 560; x += 20)
        {
            for (int y = 60; y <= 420; y += 20)
            {
                // The same ray through both.
                double rx = (x - result.Lens.Cx) / result.Lens.Fx;
                double ry = (y - result.Lens.Cy) / result.Lens.Fy;
                Point<PhotoSpace> ours = result.Lens.PhotoFromFlat.Apply(new(x, y));
                Point<PhotoSpace> theirs = toolbox.PhotoFromFlat.Apply(
                    new(toolbox.Cx + rx * toolbox.Fx, toolbox.Cy + ry * toolbox.Fy)
                );
                Vector<PhotoSpace> shift = new(toolbox.Cx - result.Lens.Cx, toolbox.Cy - result.Lens.Cy);
                Assert.True((theirs - shift).DistanceTo(ours) < 1);
            }
        }

        // The stated uncertainty is the toolbox's within a quarter: its corners are a little noisier.
        Assert.Equal(1.076, 3 * Math.Sqrt(result.Lens.Covariance![0][0]), 0.27);
    }

    [Fact]
    public void A_blurred_photograph_among_good_ones_is_named_and_left_out()
    {
        List<Photo> photos = [.. ChessboardPhotos()];
        photos[3] = Blurred(photos[3], 5);
        LensCalibrationResult result = LensCalibration.Solve(photos, Board);
        Assert.NotEqual(BoardPhotoUse.Used, result.Photos[3].Use);
        Assert.Contains(
            result.Findings,
            f =>
                f.Where.Contains(photos[3].Name, StringComparison.Ordinal)
                && f.What is "photo-is-blurred" or "no-board-in-photo"
        );
        Assert.Equal(533.0, result.Lens.Fx, 2.5);
    }

    [Fact]
    public void The_next_photo_is_asked_for_where_none_was_taken()
    {
        // No board came near the left border of the frame in these photographs.
        Finding finding = Assert.Single(Chessboard().Findings, f => f.What == "frame-not-covered");
        Assert.Contains("left", finding.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void A_profile_refuses_a_photo_by_another_camera_or_zoom()
    {
        List<Photo> photos = [.. ChessboardPhotos()];
        PhotoFacts facts = new("Invented One", 4.2, 26);
        LensProfile lens = LensCalibration.Solve([.. photos.Select(p => p with { Facts = facts })], Board).Lens;
        LensProfile read = LensProfile.Read(lens.Write(), "lens.json");
        Assert.Equal(lens.Fx, LensMatch.For(read, photos[0] with { Facts = facts }).Fx);
        Assert.Equal(lens.Fx, LensMatch.For(read, photos[0]).Fx);
        Assert.Throws<InputException>(() =>
            LensMatch.For(read, photos[0] with { Facts = facts with { Camera = "Invented Two" } })
        );
        Assert.Throws<InputException>(() =>
            LensMatch.For(read, photos[0] with { Facts = facts with { FocalLength35Millimeters = 13 } })
        );
    }

    /// <summary>
    /// Twenty-four corners on each of four rendered boards, known to about 0.03 px. The library's own detector of such boards
    /// puts them half a pixel off; ours must not, whatever an update does to it.
    /// </summary>
    [Fact]
    public void Rendered_board_corners_are_found_without_bias()
    {
        double sx = 0;
        double sy = 0;
        double ss = 0;
        int n = 0;
        using JsonDocument truth = JsonDocument.Parse(
            File.ReadAllBytes(SharedData.Require("corner-truth-rendered", "truth.json"))
        );
        foreach (JsonProperty file in truth.RootElement.GetProperty("charuco").EnumerateObject())
        {
            Point<PhotoSpace>[] corners =
            [
                .. file
                    .Value.GetProperty("inner_corners_row_major_from_top_left")
                    .EnumerateArray()
                    .Select(c => new Point<PhotoSpace>(c[0].GetDouble(), c[1].GetDouble())),
            ];
            using Mat grey = GreyPicture.From(
                PhotoReader.Read(SharedData.Require("corner-truth-rendered", file.Name)).Picture
            );
            Random random = new(1);
            List<(Point<PhotoSpace>, Vector<PhotoSpace>, Vector<PhotoSpace>)> predicted = [];
            for (int k = 0; k < corners.Length; k++)
            {
                // Four across; predicted a pixel or so off, as from markers.
                Vector<PhotoSpace> right = k % 4 < 3 ? corners[k + 1] - corners[k] : corners[k] - corners[k - 1];
                Vector<PhotoSpace> down =
                    k < corners.Length - 4 ? corners[k + 4] - corners[k] : corners[k] - corners[k - 4];
                Vector<PhotoSpace> off = new(2 * random.NextDouble() - 1, 2 * random.NextDouble() - 1);
                predicted.Add((corners[k] + off, right, down));
            }

            MeasuredCorner?[] found = CornerRefiner.Refine(grey, predicted, 0.18);
            for (int k = 0; k < corners.Length; k++)
            {
                Vector<PhotoSpace> d = found[k]!.Value.At - corners[k];
                sx += d.X;
                sy += d.Y;
                ss += d.Dot(d);
                n++;
            }
        }

        Assert.Equal(96, n);
        Assert.Equal(0, sx / n, 0.05);
        Assert.Equal(0, sy / n, 0.05);
        Assert.True(Math.Sqrt(ss / n) <= 0.1);
    }

    /// <summary>Why the library's own board detector is not used: its corners lie half a pixel to the right and down.</summary>
    [Fact]
    public void The_librarys_own_board_detector_is_half_a_pixel_off()
    {
        double sx = 0;
        double sy = 0;
        int n = 0;
        using JsonDocument truth = JsonDocument.Parse(
            File.ReadAllBytes(SharedData.Require("corner-truth-rendered", "truth.json"))
        );
        foreach (JsonProperty file in truth.RootElement.GetProperty("charuco").EnumerateObject())
        {
            double[][] corners =
            [
                .. file
                    .Value.GetProperty("inner_corners_row_major_from_top_left")
                    .EnumerateArray()
                    .Select(c => new[] { c[0].GetDouble(), c[1].GetDouble() }),
            ];
            using Mat grey = GreyPicture.From(
                PhotoReader.Read(SharedData.Require("corner-truth-rendered", file.Name)).Picture
            );
            using CharucoBoard board = new(
                5,
                7,
                0.04f,
                0.02f,
                CvAruco.GetPredefinedDictionary(PredefinedDictionaryType.Dict6X6_250)
            );
            using CharucoDetector detector = new(board);
            detector.DetectBoard(grey, out Point2f[] found, out int[] ids, out _, out _);
            for (int k = 0; k < ids.Length; k++)
            {
                sx += found[k].X - corners[ids[k]][0];
                sy += found[k].Y - corners[ids[k]][1];
                n++;
            }
        }

        // Where this fails the library has been mended, and the remark in the design is out of date.
        Assert.Equal(0.5, sx / n, 0.1);
        Assert.Equal(0.5, sy / n, 0.1);
    }

    private static readonly CalibrationBoard Board = CalibrationBoard.Chessboard(9, 6, Length.FromInches(1));

    private static LensCalibrationResult Chessboard() => LensCalibration.Solve([.. ChessboardPhotos()], Board);

    private static IEnumerable<Photo> ChessboardPhotos() =>
        new[] { 1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14 }.Select(i =>
            PhotoReader.Read(
                SharedData.Require(
                    "opencv-chessboard",
                    "left" + i.ToString("00", System.Globalization.CultureInfo.InvariantCulture) + ".jpg"
                )
            )
        );

    private static Photo Blurred(Photo photo, double sigma)
    {
        using Mat grey = GreyPicture.From(photo.Picture);
        using Mat soft = new();
        Cv2.GaussianBlur(grey, soft, new Size(0, 0), sigma);
        byte[] rgb = new byte[photo.Picture.Rgb.Length];
        for (int k = 0; k < rgb.Length; k++)
        {
            rgb[k] = soft.At<byte>(k / 3 / photo.Picture.Width, k / 3 % photo.Picture.Width);
        }

        return photo with
        {
            Picture = new(photo.Picture.Width, photo.Picture.Height, rgb),
        };
    }
}
