using System.Text;
using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public class LensProfileTests
{
    [Fact]
    public void Distortion_equals_opencv_s_projection()
    {
        Random random = new(21);
        for (int n = 0; n < 200; n++)
        {
            LensProfile lens = RandomLens(random);
            Point<FlatSpace> flat = new(4000 * random.NextDouble(), 3000 * random.NextDouble());
            double x = (flat.X - lens.Cx) / lens.Fx;
            double y = (flat.Y - lens.Cy) / lens.Fy;
            double[,] camera = CameraOf(lens);
            Cv2.ProjectPoints(
                [new Point3f((float)x, (float)y, 1)],
                [0, 0, 0],
                [0, 0, 0],
                camera,
                [.. lens.Distortion],
                out Point2f[] theirs,
                out _
            );
            Point<PhotoSpace> ours = lens.PhotoFromFlat.Apply(flat);

            // OpenCvSharp projects single precision points: 4,000 px to about 5e-4.
            Assert.True(ours.DistanceTo(new(theirs[0].X, theirs[0].Y)) < 2e-3);
        }
    }

    [Fact]
    public void Undistortion_equals_opencv_s_and_undoes_distortion()
    {
        Random random = new(22);
        for (int n = 0; n < 300; n++)
        {
            LensProfile lens = RandomLens(random);
            Point<PhotoSpace> photo = new(200 + 3600 * random.NextDouble(), 150 + 2700 * random.NextDouble());
            Point<FlatSpace> ours = lens.FlatFromPhoto.Apply(photo);
            Assert.True(lens.PhotoFromFlat.Apply(ours).DistanceTo(photo) < 1e-8);

            using Mat source = Mat.FromPixelData(1, 1, MatType.CV_64FC2, new[] { photo.X, photo.Y });
            using Mat result = new();
            using Mat camera = Mat.FromPixelData(3, 3, MatType.CV_64FC1, CameraOf(lens));
            using Mat distortion = Mat.FromPixelData(1, 5, MatType.CV_64FC1, lens.Distortion.ToArray());
            using Mat none = new();
            Cv2.UndistortPointsIter(
                source,
                result,
                camera,
                distortion,
                none,
                camera,
                new TermCriteria(CriteriaTypes.Count | CriteriaTypes.Eps, 500, 1e-14)
            );
            Vec2d theirs = result.At<Vec2d>(0, 0);

            // OpenCV's fixed-point iteration converges slowly near the corners; it stops within 1e-3 px of the root.
            Assert.True(ours.DistanceTo(new(theirs.Item0, theirs.Item1)) < 1e-3);
        }
    }

    [Fact]
    public void Nothing_far_beside_the_frame_is_put_into_it_again()
    {
        // r (1 + 0.03 r² − 0.06 r⁴) grows up to r² = (0.09 + √(0.0081 + 1.2)) ÷ 0.6 = 1.982; at r = 1.9 it is back at 0.63.
        LensProfile lens = new(4000, 3000, 3000, 3000, 1999.5, 1499.5, [0.03, -0.06, 0, 0, 0]);
        Point<FlatSpace> At(double r) => new(lens.Cx + lens.Fx * r, lens.Cy);

        Assert.False(lens.PhotoFromFlat.Apply(At(1.9)).IsFinite);
        Assert.False(lens.PhotoFromFlat.Apply(At(2.3)).IsFinite);
        Assert.Equal(
            lens.Cx + lens.Fx * 1.4 * (1 + 0.03 * 1.96 - 0.06 * 1.96 * 1.96),
            lens.PhotoFromFlat.Apply(At(1.4)).X,
            1e-9
        );
    }

    [Fact]
    public void Beyond_the_fold_of_the_model_there_is_no_ideal_point()
    {
        // r (1 − 0.5 r²) is greatest at r = √(2/3), with 0.544: nothing ideal is seen beyond 0.544 f = 1,633 px.
        LensProfile lens = new(8000, 6000, 3000, 3000, 4000, 3000, [-0.5, 0, 0, 0, 0]);

        Assert.True(lens.FlatFromPhoto.Apply(new(4000 + 1600, 3000)).IsFinite);
        Assert.False(lens.FlatFromPhoto.Apply(new(4000 + 1650, 3000)).IsFinite);
    }

    [Fact]
    public void A_profile_is_read_and_written_with_what_it_does_not_know()
    {
        const string Text = """
            {"format":"overlayplanner.lens","version":1,"width":4000,"height":3000,"model":"brown5",
             "fx":3001.5,"fy":3002.25,"cx":1999.5,"cy":1499.5,"distortion":[-0.1,0.02,0.0001,-0.0002,0.003],
             "covariance":null,"camera":{"model":"Made Camera 3"},"photos":13,"note":{"a":[1,2]}}
            """;
        LensProfile lens = LensProfile.Read(Encoding.UTF8.GetBytes(Text), "lens.json");
        LensProfile again = LensProfile.Read(lens.Write(), "lens.json");

        Assert.Equal(
            (4000, 3000, 3001.5, 3002.25, 1999.5, 1499.5),
            (again.Width, again.Height, again.Fx, again.Fy, again.Cx, again.Cy)
        );
        Assert.Equal([-0.1, 0.02, 0.0001, -0.0002, 0.003], again.Distortion);
        Assert.Equal("Made Camera 3", again.Camera!.Value.GetProperty("model").GetString());
        Assert.Equal(13, again.Unknown["photos"].GetInt32());
        Assert.Equal(
            "[1,2]",
            again
                .Unknown["note"]
                .GetProperty("a")
                .GetRawText()
                .Replace(" ", "", StringComparison.Ordinal)
                .Replace("\n", "", StringComparison.Ordinal)
        );
    }

    public static TheoryData<string, string> WrongFiles() =>
        new()
        {
            { "{", "no valid JSON" },
            { "[]", "something else" },
            { """{"format":"overlayplanner.route","version":1}""", "overlayplanner.route" },
            { """{"format":"overlayplanner.lens","version":2}""", "version 2 is later" },
            { """{"format":"overlayplanner.lens","version":1,"model":"fisheye4"}""", "fisheye4" },
            { """{"format":"overlayplanner.lens","version":1,"model":"brown5"}""", "\"width\"" },
            {
                """{"format":"overlayplanner.lens","version":1,"model":"brown5","width":10,"height":10,"fx":"a"}""",
                "a number"
            },
            {
                """{"format":"overlayplanner.lens","version":1,"model":"brown5","width":10,"height":10,"fx":1,"fy":1,"cx":1,"cy":1,"distortion":[1,2]}""",
                "5 numbers"
            },
        };

    [Theory]
    [MemberData(nameof(WrongFiles))]
    public void Wrong_profiles_are_refused_with_the_place(string text, string says)
    {
        InputException refused = Assert.Throws<InputException>(() =>
            LensProfile.Read(Encoding.UTF8.GetBytes(text), "lens.json")
        );
        Assert.Contains(says, refused.What, StringComparison.Ordinal);
        Assert.Contains("lens.json", refused.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void A_profile_follows_a_photo_made_smaller_and_refuses_another_shape()
    {
        LensProfile lens = new(4000, 3000, 3000, 3000, 1990, 1505, [-0.1, 0, 0, 0, 0]);
        LensProfile half = lens.ForPhoto(2000, 1500);

        // A point and its picture at half size: pixel x goes to (x + ½) / 2 − ½.
        Point<PhotoSpace> full = lens.PhotoFromFlat.Apply(new(3000, 2000));
        Point<PhotoSpace> small = half.PhotoFromFlat.Apply(new(1499.75, 999.75));
        Assert.True(small.DistanceTo(new((full.X + 0.5) / 2 - 0.5, (full.Y + 0.5) / 2 - 0.5)) < 1e-9);
        Assert.Same(lens, lens.ForPhoto(4000, 3000));
        Assert.Contains(
            "same way up",
            Assert.Throws<InputException>(() => lens.ForPhoto(3000, 4000)).Remedy,
            StringComparison.Ordinal
        );
        Assert.Throws<InputException>(() => lens.ForPhoto(4000, 2250));
    }

    private static LensProfile RandomLens(Random random)
    {
        double Around(double by) => by * (2 * random.NextDouble() - 1);
        double f = 2800 + 1200 * random.NextDouble();
        return new(
            4000,
            3000,
            f,
            f * (1 + Around(0.01)),
            2000 + Around(40),
            1500 + Around(40),
            [Around(0.12), Around(0.05), Around(0.001), Around(0.001), Around(0.01)]
        );
    }

    private static double[,] CameraOf(LensProfile lens) =>
        new[,]
        {
            { lens.Fx, 0, lens.Cx },
            { 0, lens.Fy, lens.Cy },
            { 0, 0, 1 },
        };
}
