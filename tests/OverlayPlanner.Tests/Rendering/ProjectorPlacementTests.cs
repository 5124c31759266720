using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Projector;
using SkiaSharp;

namespace OverlayPlanner.Tests.Rendering;

/// <summary>Thin lines in the projector's picture lie where the profile says, to a quarter of a pixel.</summary>
public class ProjectorPlacementTests
{
    // Keystone and turn, so that lines run at no simple slope and through pixels at every offset.
    private static readonly Homography<ProjectorSpace, ClothSpace> Keystoned = new([
        61.3,
        2.9,
        131.37,
        -1.7,
        59.1,
        87.71,
        0.0021,
        0.0034,
        1,
    ]);

    private static readonly ProjectorBend Bent = new(
        new(639.5, 399.5),
        640,
        [0, 0.002, 0, 0.004, 0, 0.004, 0],
        [0, 0, 0, 0, 0.004, 0, 0.004]
    );

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void The_middle_of_the_light_across_a_line_is_where_the_profile_puts_it(bool bent)
    {
        Route route = SampleRoutes.OfRectangle(12, 9);
        ProjectorProfile profile = new(1280, 800, Keystoned) { Bend = bent ? Bent : null };
        using SKBitmap frame = SKBitmap.Decode(
            ProjectorFrame
                .Render(
                    route,
                    route.Candidates[0],
                    profile.ProjectorFromCloth,
                    profile.Width,
                    profile.Height,
                    bend: profile.Bend is { } bend ? bend.Apply : null
                )
                .Bytes
        );
        List<double> off = [];
        foreach (Move move in route.Candidates[0].AllMoves)
        {
            for (double t = 0.12; t < 0.9; t += 0.02)
            {
                Point<ProjectorSpace> at = profile.Apply(move.Path.PointAt(t));
                Point<ProjectorSpace> ahead = profile.Apply(move.Path.PointAt(t + 1e-4));
                Vector<ProjectorSpace> across = (ahead - at).Unit.TurnedLeft;
                if (Offset(frame, at, across) is { } d)
                {
                    off.Add(d);
                }
            }
        }

        // Numbers, arrows and the ends' marks lie over the line here and there; most of it is bare.
        Assert.True(off.Count > 60, FormattableString.Invariant($"{off.Count} places"));
        Assert.All(off, d => Assert.InRange(d, -0.25, 0.25));
        Assert.InRange(off.Average(), -0.05, 0.05);
    }

    // Where across the line the light's middle lies, px; null where something else lies beside it.
    private static double? Offset(SKBitmap frame, Point<ProjectorSpace> at, Vector<ProjectorSpace> across)
    {
        const double Reach = 14;
        double sum = 0;
        double moment = 0;
        double most = 0;
        for (double s = -Reach; s <= Reach; s += 0.05)
        {
            double v = Blue(frame, at + across * s);

            // The line is 5 px wide at most; light further out is a number's or an arrow's.
            sum += v;
            moment += v * s;
            most = Math.Max(most, v);
            if (Math.Abs(s) > 5 && v > 40)
            {
                return null;
            }
        }

        double width = sum * 0.05 / Math.Max(1, most);
        return most > 120 && width < 9 ? moment / sum : null;
    }

    private static double Blue(SKBitmap frame, Point<ProjectorSpace> p)
    {
        int x = (int)Math.Floor(p.X);
        int y = (int)Math.Floor(p.Y);
        if (x < 0 || y < 0 || x >= frame.Width - 1 || y >= frame.Height - 1)
        {
            return 0;
        }

        double fx = p.X - x;
        double fy = p.Y - y;
        return (1 - fy) * ((1 - fx) * frame.GetPixel(x, y).Blue + fx * frame.GetPixel(x + 1, y).Blue)
            + fy * ((1 - fx) * frame.GetPixel(x, y + 1).Blue + fx * frame.GetPixel(x + 1, y + 1).Blue);
    }
}
