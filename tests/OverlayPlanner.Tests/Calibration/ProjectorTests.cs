using System.Text;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public class ProjectorTests
{
    private static readonly Homography<ProjectorSpace, ClothSpace> Truth = new([
        41.2,
        1.7,
        88,
        -0.9,
        43.5,
        61,
        0.0011,
        0.0023,
        1,
    ]);

    private static readonly Point<ClothSpace>[] Places =
    [
        new(0, 0),
        new(40, 0),
        new(40, 20),
        new(0, 20),
        new(20, 10),
        new(10, 5),
        new(30, 16),
    ];

    [Fact]
    public void Four_points_fit_exactly_and_are_said_to_prove_nothing()
    {
        ProjectorFit fit = ProjectorCalibration.FromPoints(
            [.. Places.Take(4).Select(p => (p, Truth.Apply(p)))],
            1920,
            1080
        );

        Assert.Equal("no-spare-point", Assert.Single(fit.Findings).What);
        Assert.True(fit.Profile.ProjectorFromCloth.Apply(new(17, 9)).DistanceTo(Truth.Apply(new(17, 9))) < 1e-8);
    }

    [Fact]
    public void The_residual_of_noisy_points_is_about_their_noise()
    {
        // RMS over 2n − 8 degrees of freedom: the sum of squares has the mean σ² (2n − 8).
        Random random = new(4);
        double sum = 0;
        const int Trials = 400;
        for (int n = 0; n < Trials; n++)
        {
            (Point<ClothSpace>, Point<ProjectorSpace>)[] points =
            [
                .. Places.Select(p => (p, Truth.Apply(p) + Noise(0.8))),
            ];
            double rms = ProjectorCalibration.FromPoints(points, 1920, 1080).RootMeanSquarePixels;
            sum += rms * rms * Places.Length / (2 * Places.Length - 8);
        }

        Assert.InRange(Math.Sqrt(sum / Trials), 0.75, 0.85);

        Vector<ProjectorSpace> Noise(double sigma) => new(sigma * Normal(), sigma * Normal());
        double Normal() =>
            Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
    }

    [Fact]
    public void A_wrong_point_is_named()
    {
        (Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)[] points =
        [
            .. Places.Select(p => (p, Truth.Apply(p))),
        ];
        points[5].Projector += new Vector<ProjectorSpace>(35, -20);
        Finding found = Assert.Single(ProjectorCalibration.FromPoints(points, 1920, 1080).Findings);

        Assert.Equal("point-disagrees", found.What);
        Assert.StartsWith("point 6 at 10,5 in", found.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void With_five_points_none_can_be_named_but_the_disagreement_is_said()
    {
        (Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)[] points =
        [
            .. Places.Take(5).Select(p => (p, Truth.Apply(p))),
        ];
        points[4].Projector += new Vector<ProjectorSpace>(35, -20);

        Assert.Equal(
            "points-disagree",
            Assert.Single(ProjectorCalibration.FromPoints(points, 1920, 1080).Findings).What
        );
    }

    public static TheoryData<string, string> WrongPoints() =>
        new()
        {
            { "0,0=10,10 40,0=1900,20 40,20=1880,1000", "four are needed" },
            { "0,0=10,10 10,0=500,10 20,0=1000,10 30,0=1500,10", "one line" },
            { "0,0=10,10 10,10=500,10 20,20=1000,500 30,30=1500,900", "one line" },
            { "0,0=10,10 40,0=1900,20 40,20=1880,9000 0,20=30,1010", "far outside" },
            { "0,0=10,10 0,0=1900,20 40,20=1880,1000 0,20=30,1010", "one place on the cloth" },
            { "0,0=10,10 40,0=10,10 40,20=1880,1000 0,20=30,1010", "one projector pixel" },
            { "0,0=10,10 40,0=1880,1000 40,20=1900,20 0,20=30,1010", "order" },
            { "0,0=10,10 40,0=NaN,20 40,20=1880,1000 0,20=30,1010", "can't be" },
        };

    [Theory]
    [MemberData(nameof(WrongPoints))]
    public void Points_that_fix_no_projection_are_refused(string points, string says)
    {
        InputException refused = Assert.Throws<InputException>(() =>
            ProjectorCalibration.FromPoints(Parse(points), 1920, 1080)
        );
        Assert.Contains(says, refused.What, StringComparison.Ordinal);
        Assert.NotEmpty(refused.Where);
        Assert.NotEmpty(refused.Remedy);
    }

    [Fact]
    public void A_profile_is_read_and_written_with_what_it_does_not_know()
    {
        const string Text = """
            {"format":"overlayplanner.projector","version":1,"width":1920,"height":1080,
             "projectorFromCloth":[41.2,1.7,88,-0.9,43.5,61,0.0011,0.0023,1],"residual":{"rmsPx":0.4},"lamp":"new"}
            """;
        ProjectorProfile profile = ProjectorProfile.Read(Encoding.UTF8.GetBytes(Text), "projector.json");
        ProjectorProfile again = ProjectorProfile.Read(profile.Write(), "projector.json");

        Assert.Equal((1920, 1080), (again.Width, again.Height));
        Assert.Equal(Truth.RowByRow, again.ProjectorFromCloth.RowByRow);
        Assert.Equal(0.4, again.Residual!.Value.GetProperty("rmsPx").GetDouble());
        Assert.Equal("new", again.Unknown["lamp"].GetString());
    }

    [Fact]
    public void Wrong_profiles_are_refused()
    {
        Assert.Contains(
            "version 3 is later",
            Refuse("""{"format":"overlayplanner.projector","version":3}"""),
            StringComparison.Ordinal
        );
        Assert.Contains(
            "overlayplanner.lens",
            Refuse("""{"format":"overlayplanner.lens","version":1}"""),
            StringComparison.Ordinal
        );
        Assert.Contains(
            "turned round",
            Refuse(
                """{"format":"overlayplanner.projector","version":1,"width":10,"height":10,"projectorFromCloth":[0,0,0,0,0,0,0,0,0]}"""
            ),
            StringComparison.Ordinal
        );

        static string Refuse(string text) =>
            Assert.Throws<InputException>(() => ProjectorProfile.Read(Encoding.UTF8.GetBytes(text), "p.json")).What;
    }

    private static (Point<ClothSpace>, Point<ProjectorSpace>)[] Parse(string text) =>
        [
            .. text.Split(' ')
                .Select(pair =>
                    pair.Split('=', ',')
                        .Select(n => double.Parse(n, System.Globalization.CultureInfo.InvariantCulture))
                        .ToArray()
                )
                .Select(n => (new Point<ClothSpace>(n[0], n[1]), new Point<ProjectorSpace>(n[2], n[3]))),
        ];
}
