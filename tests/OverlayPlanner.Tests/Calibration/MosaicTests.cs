using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public class MosaicTests
{
    private const double Density = 32;

    [Fact]
    public void A_tie_says_from_the_first_photo_s_place_to_the_second_s_and_a_shift_takes_it_back()
    {
        // Two pictures of one cloth; the second one's plane puts all of it (0.06, −0.03) in aside, nearly two pixels.
        Photo photo = Textured(700, 600);
        Vector<ClothSpace> aside = new(0.06, -0.03);
        MosaicFrame frame = MosaicFrame.Of(Length.FromInches(20), Length.FromInches(17), Density, Length.Zero);
        PhotoView first = PhotoView.Of(photo, PlaneAside(default), frame, null, TestContext.Current.CancellationToken);
        PhotoView second = PhotoView.Of(photo, PlaneAside(aside), frame, null, TestContext.Current.CancellationToken);

        IReadOnlyList<MosaicTie> ties = MosaicTies.Find([first, second], frame, TestContext.Current.CancellationToken);

        Assert.True(ties.Count > 40);

        // The peak's centroid is drawn aside by some tenths of a pixel where the shift is no whole number, and hardly near none.
        Assert.All(ties, t => Assert.InRange((t.Apart - aside).Norm * Density, 0, 0.4));

        PlaneShift back = new([-aside.X, 0, 0, -aside.Y, 0, 0, 0, 0], new(10, 8.5), 10);
        PhotoView moved = PhotoView.Of(photo, PlaneAside(aside), frame, back, TestContext.Current.CancellationToken);
        Assert.All(
            MosaicTies.Find([first, moved], frame, TestContext.Current.CancellationToken),
            t => Assert.InRange(t.Apart.Norm * Density, 0, 0.05)
        );
    }

    [Fact]
    public void A_view_holds_the_part_that_its_photo_shows_and_the_very_pixels_of_the_whole()
    {
        // 700 × 600 px at 32 px/in are 21.9 × 18.8 in, in the upper left of 40 × 30 in.
        Photo photo = Textured(700, 600);
        PlaneFit plane = PlaneAside(default);
        MosaicFrame frame = MosaicFrame.Of(Length.FromInches(40), Length.FromInches(30), Density, Length.Zero);
        PhotoView view = PhotoView.Of(photo, plane, frame, null, TestContext.Current.CancellationToken);
        Picture whole = Rectification.Rectify(
            photo,
            plane.PhotoFromCloth,
            Length.FromInches(40),
            Length.FromInches(30),
            Density,
            ct: TestContext.Current.CancellationToken
        );

        Assert.Equal((0, 0), (view.Left, view.Top));
        Assert.InRange(view.Right, 690, 720);
        Assert.InRange(view.Bottom, 590, 620);
        Assert.Equal(0, view.WeightAt(760, 100));
        foreach ((int x, int y) in new[] { (3, 5), (311, 204), (640, 555) })
        {
            Assert.True(view.WeightAt(x, y) > 0);
            Assert.Equal(whole.Rgb.AsSpan(whole.IndexOf(x, y), 3).ToArray(), view.PixelAt(x, y).ToArray());
        }
    }

    [Fact]
    public void Photos_are_brought_together_and_no_farther_from_the_truth()
    {
        double before = 0;
        double after = 0;
        double apartBefore = 0;
        double apartAfter = 0;
        int ties = 0;
        int points = 0;
        for (int seed = 0; seed < 12; seed++)
        {
            Random random = new(81_000 + seed);
            (CardTruth truth, CardsPlane plane) = Band(random);
            (MosaicTie Tie, bool IsRight)[] seen = [.. Ties(truth, plane, random, default)];
            IReadOnlyList<PlaneShift>? shifts = MosaicFit.Solve(
                plane,
                Shown(truth, plane),
                [.. seen.Select(s => s.Tie)],
                Density
            );
            foreach (MosaicTie t in seen.Where(s => s.IsRight).Select(s => s.Tie))
            {
                Vector<ClothSpace> left = shifts is null
                    ? t.Apart
                    : t.Apart - shifts[t.First].At(t.At) + shifts[t.Second].At(t.At);
                apartBefore += t.Apart.Dot(t.Apart);
                apartAfter += left.Dot(left);
                ties++;
            }

            Similarity<ClothSpace, ClothSpace> truthFromMap = StatedError.Lay(truth, plane);
            foreach ((int photo, Point<ClothSpace> onCloth, Point<ClothSpace> onMap) in Places(truth, plane, 6))
            {
                Vector<ClothSpace> was = truthFromMap.Apply(onMap) - onCloth;
                Vector<ClothSpace> now =
                    truthFromMap.Apply(shifts is null ? onMap : onMap + shifts[photo].At(onMap)) - onCloth;
                before += was.Dot(was);
                after += now.Dot(now);
                points++;
            }
        }

        // What is left is the ties' own noise, a tenth of a pixel each axis.
        double left2 = Math.Sqrt(apartAfter / ties) * Density;
        TestContext.Current.TestOutputHelper?.WriteLine(
            FormattableString.Invariant(
                $"apart {Math.Sqrt(apartBefore / ties) * Density:0.000} to {left2:0.000} px; off {Math.Sqrt(before / points):0.00000} to {Math.Sqrt(after / points):0.00000} in"
            )
        );
        Assert.True(apartBefore > 2 * apartAfter);
        Assert.InRange(left2, 0.13, 0.17);
        Assert.True(after <= before);
    }

    [Fact]
    public void Cloth_that_moved_between_the_photos_is_not_made_to_agree()
    {
        Random random = new(82_000);
        (CardTruth truth, CardsPlane plane) = Band(random);

        // A quarter of an inch: ten times what the cards leave open.
        MosaicTie[] ties = [.. Ties(truth, plane, random, new(0.25, 0)).Select(t => t.Tie)];

        Assert.Null(MosaicFit.Solve(plane, Shown(truth, plane), ties, Density));
        Assert.Null(MosaicFit.Solve(plane, Shown(truth, plane), [.. ties.Take(5)], Density));
    }

    private static (CardTruth Truth, CardsPlane Plane) Band(Random random)
    {
        CardTruth truth = CardLayouts.Draw(random, CardLayout.LoadedBand, 3, withProfile: true);
        return (
            truth,
            PlaneFromCards.Solve(
                CardLayouts.Observe(truth, 0.1, random),
                new()
                {
                    Lens = CardLayouts.Nominal(truth.Width, truth.Height),
                    Printed = new(PrintedSize.DrawnAcross * truth.Print[0], PrintedSize.DrawnDown * truth.Print[1]),
                },
                TestContext.Current.CancellationToken
            )
        );
    }

    // Every cloth point of a grid in each photo that shows it, with its true place and the one by that photo's plane.
    private static IEnumerable<(int Photo, Point<ClothSpace> OnCloth, Point<ClothSpace> OnMap)> Places(
        CardTruth truth,
        CardsPlane plane,
        double step
    )
    {
        (double left, double top, double width, double height) = truth.Area;
        for (double x = left; x <= left + width; x += step)
        {
            for (double y = top; y <= top + height; y += step)
            {
                for (int p = 0; p < truth.Poses.Count; p++)
                {
                    Point<PhotoSpace>? seen = truth.Project(p, x, y);
                    if (truth.Shows(seen))
                    {
                        yield return (p, new(x, y), plane.Planes[p].ClothFromPhoto.Apply(seen!.Value));
                    }
                }
            }
        }
    }

    // Noise of a tenth of a pixel each axis; every tenth tie is wrong altogether. The last photo's cloth may lie moved.
    private static IEnumerable<(MosaicTie Tie, bool IsRight)> Ties(
        CardTruth truth,
        CardsPlane plane,
        Random random,
        Vector<ClothSpace> moved
    )
    {
        const double Noise = 0.1 / Density;
        foreach (
            (int Photo, Point<ClothSpace> OnCloth, Point<ClothSpace> OnMap)[] same in Places(truth, plane, 2)
                .GroupBy(p => p.OnCloth)
                .Select(g => g.ToArray())
        )
        {
            for (int i = 0; i < same.Length; i++)
            {
                for (int j = i + 1; j < same.Length; j++)
                {
                    bool right = random.Next(10) > 0;
                    Vector<ClothSpace> noise = right
                        ? new(Noise * CardLayouts.Normal(random), Noise * CardLayouts.Normal(random))
                        : new(random.NextDouble() - 0.5, random.NextDouble() - 0.5);
                    Vector<ClothSpace> by = same[j].Photo == truth.Poses.Count - 1 ? moved : default;
                    yield return (
                        new(same[i].Photo, same[j].Photo, same[i].OnMap, same[j].OnMap - same[i].OnMap + noise + by),
                        right
                    );
                }
            }
        }
    }

    private static IReadOnlyList<Box<ClothSpace>?> Shown(CardTruth truth, CardsPlane plane) =>
        [
            .. Places(truth, plane, 2)
                .GroupBy(p => p.Photo)
                .OrderBy(g => g.Key)
                .Select(g => (Box<ClothSpace>?)Box<ClothSpace>.Around(g.Select(p => p.OnMap))),
        ];

    // At 32 photo pixels to the inch, what the photo shows at a pixel lies so far aside.
    private static PlaneFit PlaneAside(Vector<ClothSpace> aside)
    {
        Similarity<PhotoSpace, ClothSpace> photoFromCloth = new(Density, 0, -Density * aside.X, -Density * aside.Y);
        return new(photoFromCloth.Inverse(), photoFromCloth, _ => Length.FromInches(0.01), Density, []);
    }

    // Grey values on a lattice of four pixels, linear between.
    private static Photo Textured(int width, int height)
    {
        Random random = new(5);
        int across = width / 4 + 2;
        double[] lattice = [.. Enumerable.Range(0, across * (height / 4 + 2)).Select(_ => 255 * random.NextDouble())];
        byte[] rgb = new byte[width * height * 3];
        for (int y = 0; y < height; y++)
        {
            for (int x = 0; x < width; x++)
            {
                (double fx, double fy) = (x % 4 / 4.0, y % 4 / 4.0);
                int k = y / 4 * across + x / 4;
                double v =
                    (1 - fy) * ((1 - fx) * lattice[k] + fx * lattice[k + 1])
                    + fy * ((1 - fx) * lattice[k + across] + fx * lattice[k + across + 1]);
                rgb.AsSpan(3 * (y * width + x), 3).Fill((byte)v);
            }
        }

        return new(new(width, height, rgb), "textured", PhotoFacts.None);
    }
}
