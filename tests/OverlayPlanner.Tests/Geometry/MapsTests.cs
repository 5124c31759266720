using CsCheck;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

public class MapsTests
{
    private static readonly Gen<(double Turn, double Scale, double Tx, double Ty, bool Mirrored)> Parts = Gen.Select(
        Gen.Double[-4, 4],
        Gen.Double[0.01, 100],
        Gen.Double[-50, 50],
        Gen.Double[-50, 50],
        Gen.Bool
    );

    [Fact]
    public void A_similarity_goes_there_and_back() =>
        Property.ForAll(
            Gen.Select(Parts, Draws.Edge),
            x =>
            {
                Similarity<PageSpace, ClothSpace> pageFromCloth = Make<PageSpace, ClothSpace>(x.Item1);
                Edge<ClothSpace> back = pageFromCloth.Inverse().Apply(pageFromCloth.Apply(x.Item2));

                double tolerance = 1e-9 / Math.Min(1, pageFromCloth.Scale);
                Assert.Equal(0, back.From.DistanceTo(x.Item2.From), tolerance);
                Assert.Equal(0, back.To.DistanceTo(x.Item2.To), tolerance);
                Assert.Equal(x.Item2.Bulge, back.Bulge);
            }
        );

    [Fact]
    public void A_similarity_takes_every_point_of_an_arc_along_mirrored_or_not() =>
        Property.ForAll(
            Gen.Select(Parts, Draws.Edge, Gen.Double[0, 1]),
            x =>
            {
                Similarity<PageSpace, ClothSpace> map = Make<PageSpace, ClothSpace>(x.Item1);
                Edge<PageSpace> image = map.Apply(x.Item2);

                Assert.Equal(
                    0,
                    image.PointAt(x.Item3).DistanceTo(map.Apply(x.Item2.PointAt(x.Item3))),
                    1e-9 * (1 + image.Length)
                );
                Assert.Equal(x.Item2.Length * map.Scale, image.Length, 1e-9 * (1 + image.Length));
                Assert.Equal(map.Mirrored ? -x.Item2.Bulge : x.Item2.Bulge, image.Bulge);
            }
        );

    [Fact]
    public void Composed_similarities_do_one_after_the_other_and_agree_with_their_homographies() =>
        Property.ForAll(
            Gen.Select(Parts, Parts, Draws.Point),
            x =>
            {
                Similarity<PlotterSpace, PageSpace> outer = Make<PlotterSpace, PageSpace>(x.Item1);
                Similarity<PageSpace, ClothSpace> inner = Make<PageSpace, ClothSpace>(x.Item2);
                Point<PlotterSpace> expected = outer.Apply(inner.Apply(x.Item3));
                double tolerance = 1e-10 * (1 + Math.Abs(expected.X) + Math.Abs(expected.Y) + 1e4 * outer.Scale);

                Assert.Equal(0, outer.After(inner).Apply(x.Item3).DistanceTo(expected), tolerance);
                Homography<PlotterSpace, ClothSpace> h = outer.ToHomography().After(inner.ToHomography());
                Assert.Equal(0, h.Apply(x.Item3).DistanceTo(expected), tolerance);
            }
        );

    [Fact]
    public void A_homography_goes_there_and_back_and_its_derivative_is_the_slope()
    {
        // A camera that looks down at a slant: the far side of a 90 in quilt is seen at half the scale of the near one.
        Homography<PhotoSpace, ClothSpace> photoFromCloth = new([20, 3, 400, -2, 18, 300, 0.001, 0.006, 1]);
        Homography<ClothSpace, PhotoSpace> clothFromPhoto = photoFromCloth.Inverse();
        Property.ForAll(
            Gen.Select(Gen.Double[0, 90], Gen.Double[0, 90], (x, y) => new Point<ClothSpace>(x, y)),
            p =>
            {
                Assert.Equal(0, clothFromPhoto.Apply(photoFromCloth.Apply(p)).DistanceTo(p), 1e-10);
                (double xx, double xy, double yx, double yy) = photoFromCloth.DerivativeAt(p);
                const double h = 1e-4;
                Vector<PhotoSpace> byX =
                    (photoFromCloth.Apply(new(p.X + h, p.Y)) - photoFromCloth.Apply(new(p.X - h, p.Y))) * (0.5 / h);
                Vector<PhotoSpace> byY =
                    (photoFromCloth.Apply(new(p.X, p.Y + h)) - photoFromCloth.Apply(new(p.X, p.Y - h))) * (0.5 / h);
                Assert.Equal([xx, yx, xy, yy], [byX.X, byX.Y, byY.X, byY.Y], (a, b) => Math.Abs(a - b) < 1e-5);
            }
        );
    }

    [Fact]
    public void A_singular_homography_has_no_inverse_and_eight_numbers_make_none()
    {
        Assert.Throws<InvalidOperationException>(() =>
            new Homography<PhotoSpace, ClothSpace>([1, 2, 3, 2, 4, 6, 0, 0, 1]).Inverse()
        );
        Assert.Throws<ArgumentException>(() => new Homography<PhotoSpace, ClothSpace>([1, 0, 0, 0, 1, 0, 0, 0]));
        Assert.Throws<ArgumentException>(() =>
            new Homography<PhotoSpace, ClothSpace>([1, 0, 0, 0, 1, 0, 0, 0, double.NaN])
        );
    }

    private static Similarity<TTo, TFrom> Make<TTo, TFrom>(
        (double Turn, double Scale, double Tx, double Ty, bool Mirrored) p
    )
        where TTo : ISpace
        where TFrom : ISpace => new(p.Scale * Math.Cos(p.Turn), p.Scale * Math.Sin(p.Turn), p.Tx, p.Ty, p.Mirrored);
}
