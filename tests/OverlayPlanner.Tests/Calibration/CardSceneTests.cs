using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

/// <summary>The made camera itself: what it shows lies where the formulas say, and where the finder then finds it.</summary>
public sealed class CardSceneTests
{
    // Straight down from 40 in, 1,000 px to the radian or the unit of the tangent, the origin in the middle.
    private const double Focal = 1_000;
    private const double Away = 40;
    private static readonly double[] Above = [0, 0, 0, 0, 0, Away];

    public enum Extra
    {
        None,
        Fisheye,
        Shake,
        StiffWaves,
        DrapedWaves,
        CornerUp,
        EdgeUp,
        Lifted,
    }

    public static TheoryData<Extra> Extras() => [.. Enum.GetValues<Extra>()];

    [Fact]
    public void A_fisheye_shows_a_ray_at_its_angle_and_not_at_its_tangent()
    {
        FisheyeLens lens = new(Focal, 500, 400, [0.02, -0.005, 0, 0]);

        // (0.45, 0.6, 1): tangent 0.75, θ = 0.6435011, θ² = 0.4140937; θ (1 + 0.02 θ² − 0.005 θ⁴) = 0.6482789; 0.6 and 0.8 of it.
        Point<PhotoSpace> seen = lens.Project(0.9, 1.2, 2)!.Value;
        Assert.Equal(500 + 388.967, seen.X, 0.001);
        Assert.Equal(400 + 518.623, seen.Y, 0.001);
        (double x, double y) = lens.RayAt(seen.X, seen.Y);
        Assert.Equal(0.45, x, 1e-10);
        Assert.Equal(0.6, y, 1e-10);

        // Equidistant: 60 degrees are π ÷ 3.
        FisheyeLens equidistant = lens with
        {
            Terms = [0, 0, 0, 0],
        };
        Assert.Equal(500 + 1_047.198, equidistant.Project(Math.Sqrt(3), 0, 1)!.Value.X, 0.001);
        Assert.Null(equidistant.Project(1, 0, -0.1));
    }

    [Fact]
    public void An_ultra_wide_after_its_own_correction_is_nearly_a_pinhole_and_a_fisheye_is_none()
    {
        Assert.InRange(OfPinhole(FisheyeLens.Mild(4032, 3024), 45), 0.998, 1.002);
        Assert.InRange(OfPinhole(FisheyeLens.Mild(4032, 3024), 59), 0.97, 0.985);
        Assert.InRange(OfPinhole(FisheyeLens.Strong(4032, 3024), 50), 0.73, 0.75);

        static double OfPinhole(FisheyeLens lens, double degrees)
        {
            double tan = Math.Tan(degrees * Math.PI / 180);
            return (lens.Project(tan, 0, 1)!.Value.X - lens.Cx) / (lens.F * tan);
        }
    }

    [Fact]
    public void Two_rows_of_a_moving_picture_see_the_camera_at_their_own_times()
    {
        // Turning about y by a quarter radian a second; 801 rows in 0.1 s: row 0 at −0.05 s and half a row, row 800 at +0.05.
        CameraShake shake = new((0, 0.25, 0), (0, 0, 0), 0.1, 0);
        CardScene scene = Plain() with { Shake = shake };
        double ahead = 0.05 * (1 - 1 / 801.0) * 0.25;

        // The cloth's point below the top row's middle: straight down plus the turn; rows 400 px up and down are 16 in off.
        Point<PhotoSpace> top = scene.Project(0, 0, -16, 0)!.Value;
        Point<PhotoSpace> bottom = scene.Project(0, 0, 16, 0)!.Value;
        Point<PhotoSpace> middle = scene.Project(0, 0, 0, 0)!.Value;
        Assert.Equal(500, middle.X, 1e-6);

        // Seen from the camera the cloth turns: x = 40 sin, z = 40 cos of the angle at the row's time.
        Assert.Equal(500 - Focal * Math.Tan(ahead), top.X, 0.01);
        Assert.Equal(500 + Focal * Math.Tan(ahead), bottom.X, 0.01);
        Assert.Equal(0, top.Y, 0.1);
        Assert.Equal(800, bottom.Y, 0.1);
    }

    [Fact]
    public void Cloth_that_slides_past_while_rows_are_read_leans_by_its_own_speed()
    {
        // 2 in a second at 40 in are 50 px a second; the last row is 0.05 s late.
        CardScene scene = Plain() with
        {
            Shake = new((0, 0, 0), (2, 0, 0), 0.1, 0),
        };
        Assert.Equal(500 + 50 * 0.05 * 800 / 801.0, scene.Project(0, 0, 16, 0)!.Value.X, 1e-6);
    }

    [Fact]
    public void A_card_on_a_crest_is_nearer_to_the_camera_and_on_a_flank_aslant()
    {
        // Waves of 1/2 in from trough to crest along x, 12 in long, a crest at x = 3: height 1/4 there.
        ClothWaves waves = new(0.5, 12, 0, 0);
        CardScene draped = Plain((3, 0), (6, 0)).OnWaves(waves, CardStiffness.Draped);
        Assert.Equal(0.25, waves.HeightAt(3, 7), 1e-12);
        Point<PhotoSpace> crest = draped.OnCard(0, 0, 0, 1)!.Value;
        Assert.Equal(500 + Focal * 3 / (Away - 0.25), crest.X, 1e-6);
        Assert.Equal(400 + Focal * 1 / (Away - 0.25), crest.Y, 1e-6);

        // At x = 6 the cloth falls by π ÷ 24; paper an inch to the right lies less than an inch along, and lower.
        (double x, _, double height) = draped.PlaceOf(1, 1, 0);
        double steep = Math.PI / 24;
        Assert.Equal(6 + 1 / Math.Sqrt(1 + steep * steep), x, 1e-3);
        Assert.Equal(0.25 * Math.Sin(2 * Math.PI * x / 12), height, 1e-12);

        // A stiff card there lies on the line that fits sin best over 3 in: its slope is under the steepest, and it is no higher.
        CardScene stiff = Plain((3, 0), (6, 0)).OnWaves(waves, CardStiffness.Stiff);
        double[] place = stiff.Truth.Cards[1].Place;
        Assert.Equal(0, place[CardModel.Lift], 1e-12);
        Assert.InRange(place[CardModel.SlopeRight], 0.9 * steep, steep);
        Assert.Equal(0, place[CardModel.SlopeDown], 1e-12);
        Assert.Equal(-place[CardModel.SlopeRight], stiff.PlaceOf(1, 1, 0).Height, 1e-12);
        Assert.InRange(stiff.Truth.Cards[0].Place[CardModel.Lift], 0.2, 0.25);

        // Cloth beside the cards is displaced too.
        Assert.Equal(500 + Focal * 15 / (Away - 0.25), draped.OnCloth(0, 15, 4)!.Value.X, 1e-6);
    }

    [Fact]
    public void A_curled_corner_rises_as_far_as_asked_and_its_paper_keeps_its_length()
    {
        Curl curl = (Curl)CardBend.CornerUp(0.375, 3);
        double corner = 1.5 * Math.Sqrt(2);
        (double along, double rise) = curl.At(corner);
        Assert.Equal(0.375, rise, 1e-9);

        // Chord and arc of a circle: chord = 2 R sin(arc ÷ 2 R).
        double chord = Math.Sqrt((along - 1) * (along - 1) + rise * rise);
        Assert.Equal(2 * curl.Radius * Math.Sin((corner - 1) / 2 / curl.Radius), chord, 1e-9);
        Assert.Equal((0.7, 0.0), curl.At(0.7));
        (double paper, double height) = curl.Over(along);
        Assert.Equal(corner, paper, 1e-9);
        Assert.Equal(rise, height, 1e-9);
    }

    [Theory]
    [MemberData(nameof(Extras))]
    public void Corners_are_found_in_the_photo_where_the_scene_says_they_are(Extra extra)
    {
        CardScene scene = Small(extra);
        CardPhoto seen = CardFinder.Find(CardRenderer.Render(scene, 0, new(0.7, 1, 0), 4));
        Assert.Equal(4, seen.Patterns.Count);
        double squares = 0;
        double moved = 0;
        int n = 0;
        CardScene plain = new(scene.Truth) { Lens = scene.Lens };
        foreach (SeenPattern pattern in seen.Patterns)
        {
            int card = scene.Truth.Cards.ToList().FindIndex(c => c.Card == pattern.Card);
            foreach ((Point<ClothSpace> on, Point<PhotoSpace> at) in pattern.Corners)
            {
                Point<PhotoSpace> wanted = scene.OnCard(0, card, on.X, on.Y)!.Value;
                squares += Math.Pow(at.DistanceTo(wanted), 2);
                moved = Math.Max(moved, wanted.DistanceTo(plain.OnCard(0, card, on.X, on.Y)!.Value));
                n++;
            }
        }

        // The same as for flat cards and a camera at rest; the pose's own turn counts where rows see other poses, and a curl is
        // no straight edge.
        Assert.InRange(Math.Sqrt(squares / n), 0, extra is Extra.CornerUp or Extra.EdgeUp or Extra.Shake ? 0.2 : 0.12);
        Assert.True(
            extra is Extra.None or Extra.Fisheye or Extra.StiffWaves or Extra.Lifted || moved > 0.5,
            FormattableString.Invariant($"{moved}")
        );
    }

    [Fact]
    public void A_row_that_is_open_while_the_camera_turns_is_smeared_along_the_turn()
    {
        // A still camera and one that turns by 6 px across while each row is open: the slopes across fall, those down hardly.
        CardScene still = Small(Extra.None);
        double f = still.Lens.FocalPixels;
        CardScene moving = still with { Shake = new((0, 6 / f * 10, 0), (0, 0, 0), 0, 0.1) };
        (double acrossStill, double downStill) = Steepness(CardRenderer.Render(still, 0, new(0.7, 0, 0), 4));
        (double across, double down) = Steepness(CardRenderer.Render(moving, 0, new(0.7, 0, 0), 4));
        Assert.True(across < 0.5 * acrossStill, FormattableString.Invariant($"{across} {acrossStill}"));
        Assert.True(down > 0.8 * downStill, FormattableString.Invariant($"{down} {downStill}"));
    }

    // The mean of the hundred steepest steps between neighbouring pixels, across and down.
    private static (double Across, double Down) Steepness(Photo photo)
    {
        Picture p = photo.Picture;
        List<double> across = [];
        List<double> down = [];
        for (int y = 1; y < p.Height; y++)
        {
            for (int x = 1; x < p.Width; x++)
            {
                across.Add(Math.Abs(p.Rgb[p.IndexOf(x, y)] - p.Rgb[p.IndexOf(x - 1, y)]));
                down.Add(Math.Abs(p.Rgb[p.IndexOf(x, y)] - p.Rgb[p.IndexOf(x, y - 1)]));
            }
        }

        return (across.OrderDescending().Take(100).Average(), down.OrderDescending().Take(100).Average());
    }

    private static CardScene Plain(params (double X, double Y)[] middles)
    {
        IReadOnlyList<TargetCard> deck = TargetCard.All(CardKind.ThreeInch);
        return new(
            new CardTruth(
                1_001,
                801,
                [Focal, 1, 500, 400, 0, 0, 0, 0, 0, 0],
                [Above],
                [.. middles.Select((m, i) => (deck[i], new[] { m.X, m.Y, 0, 0, 0, 0 }))],
                [1, 1],
                (-20, -16, 40, 32)
            )
        );
    }

    // One block with four cards, small and flat, seen aslant.
    private static CardScene Small(Extra extra)
    {
        const int Width = 1_344;
        const int Height = 1_008;
        FisheyeLens fisheye = FisheyeLens.Strong(Width, Height);
        CardTruth drawn = CardLayouts.Draw(
            new Random(5),
            CardLayout.OneBlock,
            1,
            withProfile: true,
            Width,
            Height,
            extra == Extra.Fisheye ? fisheye : null
        );
        CardTruth truth = drawn with
        {
            Print = [1, 1],
            Cards =
            [
                .. drawn.Cards.Select(c =>
                    (c.Card, new[] { c.Place[0], c.Place[1], c.Place[2], extra == Extra.Lifted ? 0.375 : 0, 0, 0 })
                ),
            ],
        };
        CardScene scene = new(truth);
        ClothWaves waves = new(0.25, 12, 0.4, 1);
        Dictionary<int, CardBend> Bent(CardBend bend) => Enumerable.Range(0, 4).ToDictionary(i => i, _ => bend);
        return extra switch
        {
            Extra.Fisheye => scene with { Lens = fisheye },
            Extra.Shake => scene with { Shake = new((0.05, -0.1, 0.05), (1, 0, 0), 1 / 30.0, 1 / 100.0) },
            Extra.StiffWaves => scene.OnWaves(waves, CardStiffness.Stiff),
            Extra.DrapedWaves => scene.OnWaves(waves, CardStiffness.Draped),
            Extra.CornerUp => scene with { Bends = Bent(CardBend.CornerUp(0.375, 3)) },
            Extra.EdgeUp => scene with { Bends = Bent(CardBend.EdgeUp(0.25, 3)) },
            _ => scene,
        };
    }
}
