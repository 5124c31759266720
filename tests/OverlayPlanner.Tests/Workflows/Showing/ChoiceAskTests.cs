using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Showing;

/// <summary>What is asked of the choices on their screen, and what is answered, on drafted tops.</summary>
public sealed partial class ChoiceAskTests : IDisposable
{
    private static readonly LengthWords Inches = new(LengthUnits.Inches);
    private static readonly LengthWords Metric = new(LengthUnits.Millimeters);
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-ask-").FullName;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(root, recursive: true);

    // Every way that the selects can stand: each is planned, or refused in the words of that screen.
    [Theory]
    [InlineData("shoofly")]
    [InlineData(null)]
    public void Every_asking_is_planned_or_refused_in_the_words_of_its_screen(string? pattern)
    {
        (QuiltStore store, KeptQuilt quilt, QuiltMap map) = Keep(pattern);
        BlockPoints points = BlockPoints.Of(map, "b1", Metric)!;
        string corner = points.Points[0].Id;
        int planned = 0;
        List<string> said = [];

        // A plain square differs from a pieced one only in that it has nothing inside.
        foreach (ChoiceAsk ask in Asks(corner).Where(a => pattern is not null || a.Round == "any"))
        {
            try
            {
                (quilt, Route route, _) = QuiltSteps.Plan(
                    store,
                    quilt,
                    ask.ToWishes(map, new RoomSettings()),
                    cancellation: Stop
                );
                Assert.NotEmpty(route.Candidates);
                planned++;
            }
            catch (InputException e)
            {
                said.Add(ChoiceRemedy.Say(e, ask, points, Metric));
            }
        }

        Assert.True(planned > 0, string.Join('\n', said));
        Assert.NotEmpty(said);
        Assert.All(said.Distinct(), RequireWords);

        static void RequireWords(string text)
        {
            Assert.DoesNotMatch(NotOfTheScreen(), text);
            Assert.EndsWith(".", text, StringComparison.Ordinal);
            Assert.Matches("Choose|Touch", text);
        }
    }

    [Fact]
    public void What_is_planned_again_meets_the_wish()
    {
        (QuiltStore store, KeptQuilt quilt, QuiltMap map) = Keep("ohio-star");
        ChoiceAsk ask = new() { Block = "b1", Lines = "curves" };
        BlockPoints points = BlockPoints.Of(map, "b1", Inches)!;
        foreach (
            ChoiceWish wish in new[]
            {
                ChoiceWish.NothingAdded,
                ChoiceWish.FilledEvenly,
                ChoiceWish.EndsAtTheRight,
                ChoiceWish.FewestRulers,
            }
        )
        {
            // Nothing of this block is even with its seams alone, and no curve is straight.
            ChoiceAsk first = wish == ChoiceWish.FilledEvenly ? ask with { Lines = "seams" } : ask;
            ChoiceAnswer answer = Assert.IsType<ChoiceAnswer>(Answer(first, wish));
            Assert.EndsWith(".", answer.Words, StringComparison.Ordinal);
            Assert.NotEmpty(answer.AgainWords);
            Assert.Null(Answer(answer.Again!, wish));
        }

        ChoiceAnswer? Answer(ChoiceAsk asked, ChoiceWish wish)
        {
            (quilt, Route route, _) = QuiltSteps.Plan(
                store,
                quilt,
                asked.ToWishes(map, new RoomSettings()),
                cancellation: Stop
            );
            return ChoiceAnswer.To(
                route,
                asked,
                wish,
                ChoiceWishes.Judge(route, asked.OnlyBlock, wish, Inches),
                points,
                Inches
            );
        }
    }

    [Fact]
    public void An_even_filling_that_is_planned_leaves_no_wider_circle()
    {
        (QuiltStore store, KeptQuilt quilt, QuiltMap map) = Keep("ohio-star");
        ChoiceAsk ask = new() { Block = "b1", Fill = ChoiceAsk.Evenly };

        // A quarter of 8 in.
        Assert.Equal(2, ask.WidestGap(map)!.Value.Inches);
        Route route = QuiltSteps.Plan(store, quilt, ask.ToWishes(map, new RoomSettings()), cancellation: Stop).Route;

        // A sixteenth over is as good: nothing is measured or said finer on cloth.
        Assert.InRange(WidestGap.Of(map, route.Candidates[0], "b1")!.Diameter.Inches, 0, 2.0625);
    }

    [Fact]
    public void What_was_asked_is_kept_with_the_quilt_and_what_is_no_asking_is_not()
    {
        (QuiltStore store, KeptQuilt quilt, _) = Keep("ohio-star");
        Assert.Null(ChoiceAsk.Of(quilt));
        ChoiceAsk ask = new()
        {
            Block = "b2",
            Threads = "two",
            Fill = "wool",
            Rulers = "none",
            Start = "j1",
        };
        quilt = ask.Keep(store, quilt);
        Assert.Equal(ask, ChoiceAsk.Of(quilt));
        foreach (string damaged in new[] { "{", "{\"lines\":\"loops\"}", "{\"fill\":\"straw\"}", "{\"block\":null}" })
        {
            File.WriteAllText(quilt.PathOf(ChoiceAsk.FileName), damaged);
            Assert.Null(ChoiceAsk.Of(quilt));
        }
    }

    [Theory]
    [InlineData("Stitching takes 4 1/2 in more.", "Stitching takes 114 mm more.")]
    [InlineData("Circles of 2 to 12 in by half inches", "Circles of 50.8 to 305 mm by 13 mm")]
    [InlineData("chords of 4, 6 and 8 in, both edges", "chords of 102, 152 and 203 mm, both edges")]
    [InlineData("24 × 18 in on a bed of 12 × 9 in", "610 × 457 mm on a bed of 305 × 229 mm")]
    [InlineData("3 in all, 2 in the ditch, row 4 in turn", "3 in all, 2 in the ditch, row 4 in turn")]
    [InlineData("0.25 in away", "6.4 mm away")]
    public void A_text_in_inches_is_told_in_millimetres(string text, string told)
    {
        Assert.Equal(told, Metric.Tell(text));
        Assert.Equal(text, Inches.Tell(text));
    }

    private static IEnumerable<ChoiceAsk> Asks(string corner) =>
        from lines in PlanWishes.LineWords
        from threads in PlanWishes.ThreadsWords
        from round in new[] { "any", "last" }
        from outline in new[] { "none", "any" }
        from rulers in ChoiceAsk.RulerWords
        from fill in new[] { "", ChoiceAsk.Evenly }
        from ends in new[] { (null, null), (corner, null), ((string?)null, (string?)corner) }
        where ends is (null, null) || (round == "any" && threads == "same")
        select new ChoiceAsk
        {
            Block = "b1",
            Lines = lines,
            Threads = threads,
            Round = round,
            Outline = outline,
            Rulers = rulers,
            Fill = fill,
            Start = ends.Item1,
            End = ends.Item2,
        };

    private (QuiltStore Store, KeptQuilt Quilt, QuiltMap Map) Keep(string? pattern)
    {
        QuiltMap map = SettingDraft.Draft(
            new()
            {
                Columns = 2,
                Rows = 1,
                Block = Length.FromInches(8),
                PlaceAt = (_, _) => new(pattern is null ? null : BlockLibrary.Find(pattern)),
            }
        );
        QuiltStore store = new(root);
        KeptQuilt quilt = store.Save(store.Create("Asked"), (QuiltStore.MapFile, QuiltMapFile.Write(map)));
        return (store, quilt, map);
    }

    // Options, ids of seams and points, coordinates, inches where millimetres are read.
    [GeneratedRegex(@"--|\b[jsb]\d+\b|\d,\d|\d in\b|junction|lattice|candidate", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex NotOfTheScreen();
}
