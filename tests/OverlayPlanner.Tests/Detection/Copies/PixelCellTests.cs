using CsCheck;
using OverlayPlanner.Detection.Copies;
using OverlayPlanner.Detection.Layout;

namespace OverlayPlanner.Tests.Detection.Copies;

public sealed class PixelCellTests
{
    private static readonly Gen<(double, double)> Shift = Gen.Select(Gen.Double[-15, 15], Gen.Double[-15, 15]);

    [Fact]
    public void Corners_go_to_corners_and_back_wherever_they_lie() =>
        Gen.Select(Shift, Shift, Shift, Shift)
            .Sample(s =>
            {
                (double X, double Y)[] corners =
                [
                    (s.Item1.Item1, s.Item1.Item2),
                    (100 + s.Item2.Item1, s.Item2.Item2),
                    (100 + s.Item3.Item1, 100 + s.Item3.Item2),
                    (s.Item4.Item1, 100 + s.Item4.Item2),
                ];
                PixelCell cell = new(corners);
                (double, double)[] unit = [(0, 0), (1, 0), (1, 1), (0, 1)];
                for (int i = 0; i < 4; i++)
                {
                    AssertNear(corners[i], cell.FromUnit(unit[i]));
                    AssertNear(unit[i], cell.ToUnit(corners[i]));
                }

                AssertNear((0.3, 0.7), cell.ToUnit(cell.FromUnit((0.3, 0.7))));
            });

    // Straight lines stay straight and meet where they met: the diagonals of a quadrilateral meet in the middle's picture.
    [Fact]
    public void The_middle_goes_where_the_diagonals_meet()
    {
        PixelCell cell = new([(0, 0), (10, 0), (8, 6), (1, 9)]);

        // Diagonals (0,0)-(8,6) and (10,0)-(1,9): 8t = 10 - 9s, 6t = 9s, hence t = 5/7, worked by hand.
        AssertNear((40.0 / 7, 30.0 / 7), cell.FromUnit((0.5, 0.5)));
    }

    [Fact]
    public void Ways_to_lie_follow_each_other()
    {
        (double, double) p = (0.2, 0.35);
        foreach (Orientation a in Orientation.All)
        {
            foreach (Orientation b in Orientation.All)
            {
                AssertNear(a.Apply(b.Apply(p)), a.After(b).Apply(p));
            }

            AssertNear(p, a.Undo(a.Apply(p)));
        }
    }

    private static void AssertNear((double X, double Y) expected, (double X, double Y) actual)
    {
        Assert.Equal(expected.X, actual.X, 1e-6);
        Assert.Equal(expected.Y, actual.Y, 1e-6);
    }
}
