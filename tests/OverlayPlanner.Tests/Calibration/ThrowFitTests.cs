using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

/// <summary>The projector's map from many marks: its covariance, its bend, and what it leaves out.</summary>
public class ThrowFitTests
{
    private const int Width = 1920;
    private const int Height = 1080;

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

    [Fact]
    public void The_stated_covariance_is_the_spread_of_many_solves()
    {
        // Marks with 0.4 px of noise, solved 300 times: the variance of the predicted pixel at three places against the mean
        // stated one. The ratio of two variances from 300 samples has a standard deviation of √(2 ÷ 300) = 8 %.
        Random random = new(11);
        Point<ClothSpace>[] places = [new(20, 10), new(1, 1), new(39, 21)];
        double[] spread = new double[places.Length];
        double[] stated = new double[places.Length];
        const int Trials = 300;
        for (int n = 0; n < Trials; n++)
        {
            ThrowFit fit = ThrowFit.Solve(Marks(random, 0.4, Truth.Apply), Width, Height, BendOrder.Radial)!;
            for (int k = 0; k < places.Length; k++)
            {
                double dx = fit.Apply(places[k]).X - Truth.Apply(places[k]).X;
                spread[k] += dx * dx / Trials;
                stated[k] += fit.CovarianceAt(places[k]).Xx / Trials;
            }
        }

        // Leaving out the farthest of Gaussian marks (3.5 σ) makes the residuals 1 % smaller.
        for (int k = 0; k < places.Length; k++)
        {
            Assert.InRange(stated[k] / spread[k], 0.75, 1.3);
        }
    }

    [Fact]
    public void A_bend_that_is_not_there_does_not_help_marks_that_were_held_out()
    {
        ThrownMark[] marks = Marks(new Random(5), 0.3, Truth.Apply);
        bool[] all = [.. marks.Select(_ => true)];
        double straight = ThrowFit.HeldOut(marks, all, Width, Height, BendOrder.None);

        Assert.True(ThrowFit.HeldOut(marks, all, Width, Height, BendOrder.Cubic) > 0.97 * straight);
        Assert.True(ThrowFit.HeldOut(marks, all, Width, Height, BendOrder.Radial) > 0.97 * straight);

        // Held-out distance in two axes of noise σ: √2 σ, and a little for what the fit itself does not know.
        Assert.InRange(straight, 0.9 * Math.Sqrt(2) * 0.3, 1.2 * Math.Sqrt(2) * 0.3);
    }

    [Fact]
    public void A_lens_s_bend_about_an_axis_off_the_picture_s_middle_is_found()
    {
        // Brown's first radial term about (960, 900): 6 px at the far corner.
        Point<ProjectorSpace> axis = new(960, 900);
        Point<ProjectorSpace> Bent(Point<ClothSpace> c)
        {
            Vector<ProjectorSpace> v = Truth.Apply(c) - axis;
            return axis + v * (1 + 0.003 * v.Dot(v) / 1e6);
        }

        ThrownMark[] marks = Marks(new Random(6), 0.05, Bent);
        ThrowFit fit = ThrowFit.Solve(marks, Width, Height, BendOrder.Cubic)!;
        ThrowFit straight = ThrowFit.Solve(marks, Width, Height, BendOrder.None)!;
        double worst = 0;
        double worstStraight = 0;
        for (int i = 0; i <= 10; i++)
        {
            for (int j = 0; j <= 10; j++)
            {
                Point<ClothSpace> at = new(1 + 3.9 * i, 1 + 2 * j);
                worst = Math.Max(worst, fit.Apply(at).DistanceTo(Bent(at)));
                worstStraight = Math.Max(worstStraight, straight.Apply(at).DistanceTo(Bent(at)));
            }
        }

        Assert.True(worst < 0.1, FormattableString.Invariant($"{worst:0.000} px, straight {worstStraight:0.000}"));
        Assert.True(worstStraight > 5 * worst);
    }

    [Fact]
    public void Marks_on_a_fold_are_left_out()
    {
        ThrownMark[] marks = Marks(new Random(7), 0.1, Truth.Apply);
        for (int i = 0; i < marks.Length; i += 9)
        {
            marks[i] = marks[i] with { Cloth = marks[i].Cloth + new Vector<ClothSpace>(0.15, -0.1) };
        }

        ThrowFit fit = ThrowFit.Solve(marks, Width, Height, BendOrder.None)!;

        Assert.All(Enumerable.Range(0, marks.Length).Where(i => i % 9 == 0), i => Assert.False(fit.Kept[i]));
        Assert.True(fit.Apply(new(20, 10)).DistanceTo(Truth.Apply(new(20, 10))) < 0.1);
    }

    [Fact]
    public void A_profile_keeps_its_bend_and_its_cards_through_a_file_and_turns_round()
    {
        ProjectorBend bend = new(
            new(959.5, 539.5),
            960,
            [0, 0.001, 0, 0.002, 0, 0.002, 0],
            [0, 0, 0, 0, 0.002, 0, 0.002]
        );
        ProjectorProfile profile = new(Width, Height, Truth) { Bend = bend, Cards = [new(3, new(1.5, 2.25))] };
        ProjectorProfile again = ProjectorProfile.Read(profile.Write(), "projector.json");

        Point<ClothSpace> at = new(31, 4);
        Assert.True(again.Apply(at).DistanceTo(profile.Apply(at)) < 1e-9);

        // There n = (0.37, −0.36): the bend is (0.06, −0.18) px.
        Assert.InRange(again.Apply(at).DistanceTo(Truth.Apply(at)), 0.17, 0.22);
        Assert.True(again.ClothOf(again.Apply(at)).DistanceTo(at) < 1e-7);
        Assert.Equal(profile.Cards, again.Cards);
        Assert.Throws<InputException>(() =>
            ProjectorProfile.Read(
                System.Text.Encoding.UTF8.GetBytes(
                    """{"format":"overlayplanner.projector","version":1,"width":10,"height":10,"projectorFromCloth":[1,0,0,0,1,0,0,0,1],"residual":{"kind":"spline"}}"""
                ),
                "p.json"
            )
        );
    }

    private static ThrownMark[] Marks(
        Random random,
        double sigma,
        Func<Point<ClothSpace>, Point<ProjectorSpace>> truth
    ) =>
        [
            .. from i in Enumerable.Range(0, 20)
            from j in Enumerable.Range(0, 11)
            let cloth = new Point<ClothSpace>(1 + 2 * i, 1 + 2 * j)
            select new ThrownMark(
                cloth,
                truth(cloth) + new Vector<ProjectorSpace>(sigma * Normal(random), sigma * Normal(random)),
                PixelSpread.Round(sigma)
            ),
        ];

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
