using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public class PlaneTests
{
    private static readonly Point<PhotoSpace>[] Good = [new(612, 398), new(3390, 432), new(3721, 2610), new(301, 2588)];

    [Fact]
    public void Four_point_homographies_equal_opencv_s()
    {
        double worst = 0;
        Random random = new(11);
        for (int n = 0; n < 300; n++)
        {
            double w = 4 + 90 * random.NextDouble();
            double h = 4 + 90 * random.NextDouble();
            Point2f[] cloth = [new(0, 0), new((float)w, 0), new((float)w, (float)h), new(0, (float)h)];
            Point2f[] photo = new Point2f[4];
            for (int k = 0; k < 4; k++)
            {
                float x = (k is 1 or 2 ? 3200 : 800) + 600 * (float)(random.NextDouble() - 0.5);
                float y = (k >= 2 ? 2400 : 600) + 500 * (float)(random.NextDouble() - 0.5);
                photo[k] = new(x, y);
            }

            using Mat theirs = Cv2.GetPerspectiveTransform(cloth, photo);
            Homography<PhotoSpace, ClothSpace> opencv = new([
                .. Enumerable.Range(0, 9).Select(i => theirs.At<double>(i / 3, i % 3)),
            ]);
            Homography<PhotoSpace, ClothSpace> ours = HomographyFit.Fit<PhotoSpace, ClothSpace>([
                .. cloth.Zip(photo, (c, p) => (new Point<ClothSpace>(c.X, c.Y), new Point<PhotoSpace>(p.X, p.Y))),
            ])!;
            for (int k = 0; k < 4; k++)
            {
                // 4,000 px in doubles: 1e-9 px leaves three digits to spare.
                Assert.True(ours.Apply(new(cloth[k].X, cloth[k].Y)).DistanceTo(new(photo[k].X, photo[k].Y)) < 1e-9);
            }

            Point<ClothSpace> middle = new(w * random.NextDouble(), h * random.NextDouble());
            worst = Math.Max(worst, ours.Apply(middle).DistanceTo(opencv.Apply(middle)));
        }

        // The map through four points is unique and ours meets them to 1e-9 px; OpenCV solves without normalising.
        Assert.True(worst < 2e-4, worst.ToString(System.Globalization.CultureInfo.InvariantCulture));
    }

    [Fact]
    public void Homographies_of_many_noisy_points_fit_at_least_as_well_as_opencv_s()
    {
        Random random = new(12);
        for (int n = 0; n < 40; n++)
        {
            Homography<PhotoSpace, ClothSpace> truth = HomographyFit.Fit<PhotoSpace, ClothSpace>([
                .. new Point<ClothSpace>[] { new(0, 0), new(60, 0), new(60, 40), new(0, 40) }.Zip(
                    Good.Select(p => p + new Vector<PhotoSpace>(300 * random.NextDouble(), 300 * random.NextDouble()))
                ),
            ])!;
            (Point<ClothSpace>, Point<PhotoSpace>)[] pairs = new (Point<ClothSpace>, Point<PhotoSpace>)[5 + n];
            for (int i = 0; i < pairs.Length; i++)
            {
                Point<ClothSpace> c = new(60 * random.NextDouble(), 40 * random.NextDouble());
                Vector<PhotoSpace> error = new(4 * (random.NextDouble() - 0.5), 4 * (random.NextDouble() - 0.5));
                pairs[i] = (c, truth.Apply(c) + error);
            }

            using Mat theirs = Cv2.FindHomography(
                pairs.Select(p => new Point2d(p.Item1.X, p.Item1.Y)),
                pairs.Select(p => new Point2d(p.Item2.X, p.Item2.Y)),
                HomographyMethods.None
            );
            Homography<PhotoSpace, ClothSpace> opencv = new([
                .. Enumerable.Range(0, 9).Select(i => theirs.At<double>(i / 3, i % 3)),
            ]);
            Homography<PhotoSpace, ClothSpace> ours = HomographyFit.Fit(pairs)!;
            double ourRms = HomographyFit.RootMeanSquare(ours, pairs);

            Assert.True(ourRms <= HomographyFit.RootMeanSquare(opencv, pairs) + 1e-9);
            Assert.True(
                ourRms <= HomographyFit.RootMeanSquare(truth, pairs) + 1e-9,
                "the truth can't fit better than the best fit"
            );
        }
    }

    [Fact]
    public void Corners_fit_exactly_and_both_maps_undo_each_other()
    {
        PlaneFit fit = PlaneFromCorners.Solve(Good, Length.FromInches(36), Length.FromInches(24), 4000, 3000);
        Point<ClothSpace>[] cloth = [new(0, 0), new(36, 0), new(36, 24), new(0, 24)];
        for (int i = 0; i < 4; i++)
        {
            Assert.True(fit.ClothFromPhoto.Apply(Good[i]).DistanceTo(cloth[i]) < 1e-10);
        }

        Point<PhotoSpace> p = new(1234.5, 2109.25);
        Assert.True(fit.PhotoFromCloth.Apply(fit.ClothFromPhoto.Apply(p)).DistanceTo(p) < 1e-8);
        Assert.Empty(fit.Findings);
    }

    [Fact]
    public void The_stated_sigma_is_the_spread_of_repeated_touches()
    {
        // mrcal's way: inject the noise, solve again and again, compare. 4,000 solves give the spread to 1.1 %.
        const double Sigma = 1.5;
        const int Solves = 4000;
        Length w = Length.FromInches(36);
        Length h = Length.FromInches(24);
        PlaneFit fit = PlaneFromCorners.Solve(Good, w, h, 4000, 3000, cornerSigmaPixels: Sigma);
        Point<ClothSpace>[] places = [new(0, 0), new(18, 12), new(33, 20), new(5, 23), new(36, 24), new(18, 0)];
        Point<PhotoSpace>[] seen = [.. places.Select(fit.PhotoFromCloth.Apply)];
        double[] squares = new double[places.Length];
        Random random = new(3);
        for (int n = 0; n < Solves; n++)
        {
            Point<PhotoSpace>[] touched =
            [
                .. Good.Select(c => c + new Vector<PhotoSpace>(Sigma * Normal(random), Sigma * Normal(random))),
            ];
            PlaneFit again = PlaneFromCorners.Solve(touched, w, h, 4000, 3000);
            for (int k = 0; k < places.Length; k++)
            {
                Vector<ClothSpace> error = again.ClothFromPhoto.Apply(seen[k]) - places[k];
                squares[k] += error.Dot(error) / 2;
            }
        }

        for (int k = 0; k < places.Length; k++)
        {
            double ratio = Math.Sqrt(squares[k] / Solves) / fit.SigmaAt(places[k]).Inches;
            Assert.InRange(ratio, 0.96, 1.04);
        }

        static double Normal(Random r) =>
            Math.Sqrt(-2 * Math.Log(1 - r.NextDouble())) * Math.Cos(2 * Math.PI * r.NextDouble());
    }

    [Fact]
    public void The_source_density_of_a_square_on_photo_is_pixels_over_inches()
    {
        Point<PhotoSpace>[] square = [new(100, 100), new(1900, 100), new(1900, 1300), new(100, 1300)];
        PlaneFit fit = PlaneFromCorners.Solve(square, Length.FromInches(36), Length.FromInches(24), 2000, 1500);

        // 1,800 px over 36 in.
        Assert.Equal(50, fit.PixelsPerInch, 6);

        // One corner's error reaches itself whole: 1 px is 1/50 in.
        Assert.Equal(0.02, fit.SigmaAt(new(0, 0)).Inches, 4);
    }

    public static TheoryData<string, string, string> WrongCorners() =>
        new()
        {
            { "100,100 100,1300 1900,1300 1900,100", "36x24", "anticlockwise" },
            { "100,100 1900,1300 1900,100 100,1300", "36x24", "out of order" },
            { "100,100 1000,100 1900,100 100,1300", "36x24", "on one line" },
            { "100,100 1900,100 1900,1300 100,100", "36x24", "same place" },
            { "100,100 9000,100 1900,1300 100,1300", "36x24", "outside the photo" },
            { "100,100 1900,100 600,500 100,1300", "36x24", "not those of a rectangle" },
            { "100,100 1900,100 1900,1300", "36x24", "not four" },
            { "100,100 NaN,100 1900,1300 100,1300", "36x24", "no number" },
            { "100,100 1900,100 1900,1300 100,1300", "0x24", "width 0 in can't be" },
            { "100,100 1900,100 1900,1300 100,1300", "36x-24", "height -24 in can't be" },
            { "100,100 1900,100 1900,1300 100,1300", "1000000000x24", "can't be" },
            { "100,100 1900,100 1900,1300 100,1300", "NaNx24", "can't be" },
            { "100,100 1900,100 1900,1300 100,1300", "12x60", "can't look so" },
        };

    [Theory]
    [MemberData(nameof(WrongCorners))]
    public void Impossible_corners_and_sizes_are_refused(string corners, string size, string says)
    {
        InputException refused = Assert.Throws<InputException>(() => SolveText(corners, size));
        Assert.Contains(says, refused.What, StringComparison.Ordinal);
        Assert.NotEmpty(refused.Where);
        Assert.NotEmpty(refused.Remedy);
    }

    [Fact]
    public void A_swapped_size_is_noticed()
    {
        Finding found = Assert.Single(SolveText("100,100 1900,100 1900,1300 100,1300", "24x36").Findings);
        Assert.Equal("size-does-not-fit", found.What);
        Assert.Contains("swapped", found.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void A_steeply_tilted_photo_of_the_right_size_raises_no_doubt()
    {
        // A square 60 in wide seen by a pinhole of f = 2,400 px from 80 in away, tilted 50°.
        double tilt = 50 * Math.PI / 180;
        Point<PhotoSpace>[] corners =
        [
            .. new[] { (-30.0, -30.0), (30, -30), (30, 30), (-30, 30) }.Select(c =>
            {
                double z = 110 - c.Item2 * Math.Sin(tilt);
                return new Point<PhotoSpace>(2000 + 2400 * c.Item1 / z, 1500 + 2400 * c.Item2 * Math.Cos(tilt) / z);
            }),
        ];
        PlaneFit fit = PlaneFromCorners.Solve(corners, Length.FromInches(60), Length.FromInches(60), 4000, 3000);

        Assert.Empty(fit.Findings);
    }

    [Fact]
    public void Corners_that_begin_elsewhere_or_lie_a_little_outside_are_findings()
    {
        Assert.Equal(
            "corners-start-turned",
            Assert.Single(SolveText("1900,100 1900,1300 100,1300 100,100", "24x36").Findings).What
        );
        Assert.Equal(
            ["corner-outside-photo", "corner-outside-photo"],
            SolveText("-30,100 1900,100 1900,1386 -30,1386", "36x24").Findings.Select(f => f.What)
        );
    }

    [Fact]
    public void Unknown_distortion_moves_points_and_the_lens_profile_takes_it_out()
    {
        LensProfile lens = new(4000, 3000, 3000, 3000, 1995, 1490, [-0.12, 0.03, 0.0006, -0.0004, 0]);
        Homography<FlatSpace, ClothSpace> truth = HomographyFit.Fit<FlatSpace, ClothSpace>([
            .. new Point<ClothSpace>[] { new(0, 0), new(36, 0), new(36, 24), new(0, 24) }.Zip(
                Good.Select(p => new Point<FlatSpace>(p.X, p.Y))
            ),
        ])!;
        Point<PhotoSpace> See(double x, double y) => lens.PhotoFromFlat.Apply(truth.Apply(new(x, y)));
        Point<PhotoSpace>[] corners = [See(0, 0), See(36, 0), See(36, 24), See(0, 24)];
        Length w = Length.FromInches(36);
        Length h = Length.FromInches(24);
        PlaneFit with = PlaneFromCorners.Solve(corners, w, h, 4000, 3000, lens);
        PlaneFit without = PlaneFromCorners.Solve(corners, w, h, 4000, 3000);
        Point<ClothSpace> middle = new(18, 12);

        Assert.True(with.ClothFromPhoto.Apply(See(18, 12)).DistanceTo(middle) < 1e-8);
        Assert.True(with.PhotoFromCloth.Apply(middle).DistanceTo(See(18, 12)) < 1e-6);
        Assert.True(without.ClothFromPhoto.Apply(See(18, 0)).DistanceTo(new(18, 0)) > 0.05);
    }

    private static PlaneFit SolveText(string corners, string size)
    {
        double[] wh = [.. size.Split('x').Select(Number)];
        Point<PhotoSpace>[] points =
        [
            .. corners
                .Split(' ')
                .Select(c => c.Split(','))
                .Select(c => new Point<PhotoSpace>(Number(c[0]), Number(c[1]))),
        ];
        return PlaneFromCorners.Solve(points, Length.FromInches(wh[0]), Length.FromInches(wh[1]), 2000, 1500);
    }

    private static double Number(string text) => double.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
}
