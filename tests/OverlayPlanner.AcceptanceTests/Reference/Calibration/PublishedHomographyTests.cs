using System.Globalization;
using System.Text.Json;
using System.Xml.Linq;
using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>The homography fit against published homographies of planar scenes.</summary>
public class PublishedHomographyTests
{
    [Theory]
    [InlineData("Boston")]
    [InlineData("WhiteBoard")]
    [InlineData("LePoint1")]
    [InlineData("adam")]
    public void Hand_made_points_that_one_homography_fits_are_fitted(string pair)
    {
        // The set's makers refined eight points by hand until one homography fitted them exactly; fitted from all eight, and from
        // any four of them, ours must go through the rest. The points are given to about 1e-6 px.
        (Point<PictureSpace> From, Point<PhotoSpace> To)[] points = ReadPoints(pair);
        Homography<PhotoSpace, PictureSpace> all = HomographyFit.Fit(points)!;
        double rms = HomographyFit.RootMeanSquare(all, points);
        Assert.True(rms < 0.01, rms.ToString(CultureInfo.InvariantCulture));

        Homography<PhotoSpace, PictureSpace> half = HomographyFit.Fit([points[0], points[2], points[5], points[7]])!;
        double rest = HomographyFit.RootMeanSquare(half, points);
        Assert.True(rest < 0.1, rest.ToString(CultureInfo.InvariantCulture));
    }

    [Theory]
    [InlineData("Boston", 1.2)]
    [InlineData("WhiteBoard", 2.2)]
    [InlineData("LePoint1", 2.2)]
    [InlineData("adam", 1.8)]
    public void Matches_within_3_px_of_the_truth_give_it_back(string pair, double tolerance)
    {
        // Tolerances from the set's README (stock robust fits reach 0.8 to 2.0 px RMS at the eight points).
        (Point<PictureSpace> From, Point<PhotoSpace> To)[] truthPoints = ReadPoints(pair);
        Homography<PhotoSpace, PictureSpace> truth = HomographyFit.Fit(truthPoints)!;
        string file = Path.Combine(SharedCalibrationData.FolderOf("homogr"), pair + "_pts.txt");
        (Point<PictureSpace> From, Point<PhotoSpace> To)[] matches =
        [
            .. File.ReadLines(file)
                .Skip(1)
                .Select(line => line.Split(' ', StringSplitOptions.RemoveEmptyEntries))
                .Where(f => f.Length == 7 && f[6] == "0")
                .Select(f =>
                    (
                        new Point<PictureSpace>(Number(f[0]), Number(f[1])),
                        new Point<PhotoSpace>(Number(f[3]), Number(f[4]))
                    )
                )
                .Where(m => truth.Apply(m.Item1).DistanceTo(m.Item2) < 3),
        ];
        Homography<PhotoSpace, PictureSpace> ours = HomographyFit.Fit(matches)!;
        double rms = HomographyFit.RootMeanSquare(ours, truthPoints);

        Assert.True(rms <= tolerance, rms.ToString(CultureInfo.InvariantCulture));
    }

    [Fact]
    public void Corners_matched_between_two_photographs_of_a_wall_give_the_published_homography()
    {
        // Features and their robust selection are OpenCV's; the fit to what it kept is ours. Tolerance from the set's README:
        // mean over the overlap at most 1 px, greatest at most 3 px (the wall has ledges: it is not one plane).
        string folder = SharedCalibrationData.FolderOf("oxford-graf");
        using Mat first = Cv2.ImRead(Path.Combine(folder, "graf1.png"), ImreadModes.Grayscale);
        using Mat third = Cv2.ImRead(Path.Combine(folder, "graf3.png"), ImreadModes.Grayscale);
        Cv2.SetTheRNG(0);
        using ORB orb = ORB.Create(8000);
        using Mat describe1 = new();
        using Mat describe3 = new();
        orb.DetectAndCompute(first, null, out KeyPoint[] at1, describe1);
        orb.DetectAndCompute(third, null, out KeyPoint[] at3, describe3);
        using BFMatcher matcher = new(NormTypes.Hamming);
        DMatch[] good =
        [
            .. matcher
                .KnnMatch(describe1, describe3, 2)
                .Where(m => m[0].Distance < 0.8 * m[1].Distance)
                .Select(m => m[0]),
        ];
        Point2d[] from = [.. good.Select(m => new Point2d(at1[m.QueryIdx].Pt.X, at1[m.QueryIdx].Pt.Y))];
        Point2d[] to = [.. good.Select(m => new Point2d(at3[m.TrainIdx].Pt.X, at3[m.TrainIdx].Pt.Y))];
        using Mat mask = new();
        using Mat theirs = Cv2.FindHomography(from, to, HomographyMethods.Ransac, 3, mask);
        (Point<PictureSpace>, Point<PhotoSpace>)[] kept =
        [
            .. Enumerable
                .Range(0, good.Length)
                .Where(i => mask.At<byte>(i) != 0)
                .Select(i => (new Point<PictureSpace>(from[i].X, from[i].Y), new Point<PhotoSpace>(to[i].X, to[i].Y))),
        ];
        Homography<PhotoSpace, PictureSpace> ours = HomographyFit.Fit(kept)!;
        double[] h =
        [
            .. XDocument
                .Load(Path.Combine(folder, "H1to3p.xml"))
                .Descendants("data")
                .Single()
                .Value.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)
                .Select(Number),
        ];
        Homography<PhotoSpace, PictureSpace> published = new(h);
        List<double> errors = [];
        for (int i = 0; i < 30; i++)
        {
            for (int j = 0; j < 30; j++)
            {
                Point<PictureSpace> p = new((i + 0.5) * 800 / 30, (j + 0.5) * 640 / 30);
                Point<PhotoSpace> q = published.Apply(p);
                if (q.X is >= 0 and < 800 && q.Y is >= 0 and < 640)
                {
                    errors.Add(ours.Apply(p).DistanceTo(q));
                }
            }
        }

        Assert.True(errors.Average() <= 1, errors.Average().ToString(CultureInfo.InvariantCulture));
        Assert.True(errors.Max() <= 3, errors.Max().ToString(CultureInfo.InvariantCulture));
    }

    private static (Point<PictureSpace> From, Point<PhotoSpace> To)[] ReadPoints(string pair)
    {
        string file = Path.Combine(SharedCalibrationData.FolderOf("homogr"), pair + "_validation.json");
        using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(file));
        return
        [
            .. document
                .RootElement.GetProperty("validation_points")
                .EnumerateArray()
                .Select(p =>
                    (
                        new Point<PictureSpace>(p.GetProperty("a")[0].GetDouble(), p.GetProperty("a")[1].GetDouble()),
                        new Point<PhotoSpace>(p.GetProperty("b")[0].GetDouble(), p.GetProperty("b")[1].GetDouble())
                    )
                ),
        ];
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
