using OpenCvSharp;
using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

/// <summary>Projectors calibrated from made photos whose truth is known.</summary>
public class PhotographedProjectorTests
{
    private const int Width = 1280;
    private const int Height = 720;

    // A block of 12 in under the light, cards round it, in a sharp photo of 2 megapixels; photographed once for all tests.
    private static readonly ProjectorScene Scene = ProjectorScenes.Draw(
        80_000,
        CardLayout.OneBlock,
        Width,
        Height,
        photoWidth: 1600
    ) with
    {
        Blur = 0.6,
    };

    private static readonly Lazy<Photo> Pattern = new(() => Scene.Photograph(ThrownPicture.Pattern(Width, Height)));

    [Fact]
    public void The_loop_from_pattern_to_photo_to_profile_to_light_closes_within_a_pixel()
    {
        (PhotographedProjector found, ProjectorScore.Loop ours, _) = ProjectorScore.Close(Scene, [Pattern.Value]);

        // Targets of the scoreboard.
        Assert.True(Quantile(ours.Pixels) <= 1, Text($"{Quantile(ours.Pixels):0.000} px"));
        Assert.True(Quantile(ours.Inches) <= 1.0 / 16, Text($"{Quantile(ours.Inches):0.0000} in"));
        Assert.True(Math.Abs(ours.Scale) <= 0.001, Text($"scale {ours.Scale:0.00000}"));
        Assert.True(found.HeldOutPixels <= found.HeldOutStraightPixels);
        Assert.True(Quantile(ours.Inches) <= found.Within95.Inches, Text($"said {found.Within95.Inches:0.0000} in"));

        // The check picture, photographed, says the same as the truth does.
        ProjectorCheckResult check = ProjectorCheck.Measure(
            [Scene.Photograph(ThrownPicture.Check(found.Profile))],
            found.Profile,
            Scene.Wishes
        );
        Assert.True(check.ByCards);
        Assert.True(check.Marks >= 40, Text($"{check.Marks} marks"));
        Assert.True(check.Within95.Inches <= 1.0 / 16, Text($"{check.Within95.Inches:0.0000} in"));
        Assert.InRange(check.ScalePercent, -0.1, 0.1);
    }

    [Fact]
    public void A_projector_that_was_knocked_is_found_out_by_the_check()
    {
        PhotographedProjector found = Solve(Pattern.Value);

        // The true projector throws 12 px further right than when it was calibrated, one part in a hundred smaller.
        Homography<ProjectorSpace, ProjectorSpace> knock = new([0.99, 0, 12, 0, 0.99, 0, 0, 0, 1]);
        ProjectorScene knocked = Scene with
        {
            Projector = Scene.Projector with { Map = knock.After(Scene.Projector.Map) },
        };
        ProjectorCheckResult check = ProjectorCheck.Measure(
            [knocked.Photograph(ThrownPicture.Check(found.Profile))],
            found.Profile,
            Scene.Wishes
        );

        // A map of cloth to pixels that is smaller throws each pixel further out: light 1 / 0.99 as large.
        Assert.InRange(check.ScalePercent, 0.9, 1.15);
        Assert.InRange(check.Within95Pixels, 6, 20);
    }

    [Fact]
    public void Two_photos_are_taken_together_and_one_may_show_cards_alone()
    {
        Photo dark = Scene.Photograph(new Picture(Width, Height, new byte[3 * Width * Height]));
        PhotographedProjector found = ProjectorFromPhotos.Solve([dark, Pattern.Value], Width, Height, Scene.Wishes, []);

        Assert.True(found.Marks >= 150, Text($"{found.Marks} marks"));
        Assert.True(found.RootMeanSquarePixels < 0.5, Text($"{found.RootMeanSquarePixels:0.000} px"));
        Assert.Contains(found.Findings, f => f.What == "inches-of-the-cards");
    }

    [Fact]
    public void Cards_whose_places_are_known_give_the_profile_the_map_s_inches()
    {
        KnownCard[] known =
        [
            .. Scene.Truth.Cards.Select(c => new KnownCard(c.Card.Number, new(c.Place[0], c.Place[1]))),
        ];
        PhotographedProjector found = ProjectorFromPhotos.Solve([Pattern.Value], Width, Height, Scene.Wishes, known);

        Point<ClothSpace> middle = new(6, 6);
        double off = found.Profile.Apply(middle).DistanceTo(Scene.Projector.Apply(middle));
        Assert.True(off <= 1, Text($"{off:0.000} px"));
        Assert.DoesNotContain(found.Findings, f => f.What == "inches-of-the-cards");

        KnownCard[] moved = [known[0], known[1] with { At = known[1].At + new Vector<ClothSpace>(5, 0) }];
        InputException refused = Assert.Throws<InputException>(() =>
            ProjectorFromPhotos.Solve([Pattern.Value], Width, Height, Scene.Wishes, moved)
        );
        Assert.Contains("do not lie where", refused.What, StringComparison.Ordinal);
    }

    public static TheoryData<string, string> Wrong() =>
        new()
        {
            { "mirrored", "seen mirrored" },
            { "size", "1280 × 720" },
            { "no cards", "No card" },
            { "twice", "pattern twice" },
            { "dark", "Too few" },
            { "another", "another picture" },
        };

    [Theory]
    [MemberData(nameof(Wrong))]
    public void A_photo_that_can_t_be_used_says_why_and_how_to_mend_it(string what, string says)
    {
        Picture pattern = ThrownPicture.Pattern(Width, Height);
        Picture thrown = what switch
        {
            "mirrored" => Moved(pattern, (x, y) => (Width - 1 - x, y)),
            "twice" => Moved(pattern, (x, y) => (x % (Width / 2), y)),
            "dark" => Moved(pattern, (x, y) => x < Width / 6 && y < Height / 6 ? (x, y) : (-1, -1)),
            "another" => ThrownPicture.Check(
                new(
                    Width,
                    Height,
                    HomographyFit.Fit<ProjectorSpace, ClothSpace>([
                        (new(0, 0), new(0, 0)),
                        (new(16, 0), new(1279, 0)),
                        (new(16, 9), new(1279, 719)),
                        (new(0, 9), new(0, 719)),
                    ])!
                )
            ),
            _ => pattern,
        };
        ProjectorScene shown = what == "no cards" ? Scene with { Truth = Scene.Truth with { Cards = [] } } : Scene;
        Photo photo = what == "size" ? Pattern.Value : shown.Photograph(thrown);
        (int width, int height) = what == "size" ? (1920, 1080) : (Width, Height);
        InputException refused = Assert.Throws<InputException>(() =>
            ProjectorFromPhotos.Solve([photo], width, height, Scene.Wishes, [])
        );

        Assert.Contains(says, refused.What, StringComparison.Ordinal);
        Assert.NotEmpty(refused.Where);
        Assert.NotEmpty(refused.Remedy);
    }

    [Theory]
    [InlineData(1920, 1080)]
    [InlineData(1024, 768)]
    [InlineData(854, 480)]
    [InlineData(1080, 1920)]
    public void The_pattern_is_read_back_whole_at_the_pixels_where_it_says_it_is(int width, int height)
    {
        (MarkField Field, double, double, double) pattern = ThrownPicture.PatternOf(width, height);
        Assert.True(pattern.Field.Corners.Count >= 200);
        using Mat grey = GreyPicture.From(ThrownPicture.Pattern(width, height));
        SeenField seen = MarkFinder.Find(grey, MarkFinder.FindMarkers(grey), pattern.Field)!;

        // The markers are read by the library, which knows nothing of how they were drawn.
        Assert.Equal(pattern.Field.Markers, seen.Markers);
        Assert.Equal(pattern.Field.Corners.Count, seen.Corners.Count);
        Assert.All(
            seen.Corners,
            c =>
            {
                Point<ProjectorSpace> p = ThrownPicture.PixelOf(c.Mark, pattern);
                Assert.True(c.Seen.DistanceTo(new(p.X, p.Y)) < 0.05, Text($"{c.Seen} against {p}"));
            }
        );
    }

    [Fact]
    public void Marks_have_numbers_that_cards_do_not_have_in_the_photo()
    {
        // Cards and light in one photo: every card is found, and no mark is taken for one.
        CardPhoto seen = CardFinder.Find(Pattern.Value);
        Assert.Equal(Scene.Truth.Cards.Select(c => c.Card.Number), seen.Patterns.Select(p => p.Card.Number).Order());
    }

    private static PhotographedProjector Solve(Photo photo) =>
        ProjectorFromPhotos.Solve([photo], Width, Height, Scene.Wishes, []);

    private static Picture Moved(Picture picture, Func<int, int, (int X, int Y)> from)
    {
        byte[] rgb = new byte[picture.Rgb.Length];
        for (int y = 0; y < picture.Height; y++)
        {
            for (int x = 0; x < picture.Width; x++)
            {
                (int fx, int fy) = from(x, y);
                if (fx >= 0 && fy >= 0 && fx < picture.Width && fy < picture.Height)
                {
                    picture.Rgb.AsSpan(picture.IndexOf(fx, fy), 3).CopyTo(rgb.AsSpan(picture.IndexOf(x, y), 3));
                }
            }
        }

        return new(picture.Width, picture.Height, rgb);
    }

    private static double Quantile(double[] values) => values.Order().ElementAt((int)(0.95 * (values.Length - 1)));

    private static string Text(FormattableString text) => FormattableString.Invariant(text);
}
