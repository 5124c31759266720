using OverlayPlanner.Geometry;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Keeping;

public sealed class RoomFileTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-room-").FullName;

    private string Settings => Path.Combine(root, RoomFile.FileName);

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void An_empty_folder_gives_the_usual_settings_and_nothing_to_say() =>
        Assert.Equal((new RoomSettings(), null), RoomFile.Read(root));

    [Fact]
    public void What_is_kept_comes_back_and_the_planner_takes_the_rulers()
    {
        RoomSettings told = new()
        {
            Units = LengthUnits.Millimeters,
            Foot = Length.FromInches(9.0 / 16),
            Throat = Length.FromInches(18),
            Asked = true,
            Walking = true,
        };
        OwnRuler[] rulers =
        [
            RulerShelf.Usual[0],
            new("Hers", Length.FromInches(8), Length.FromInches(1.25), RulerEdges.Outside),
            OwnRuler.Straight("Long one", Length.FromInches(13)),
        ];
        RoomSettings kept = RoomFile.Write(root, told, rulers);
        Assert.Equal((kept, null), RoomFile.Read(root));
        Assert.Equal(told with { Rulers = kept.Rulers }, kept);

        RulerList list = RulerList.Read(File.ReadAllBytes(kept.Rulers!), "rulers");
        Assert.Equal(3, list.Curved.Count);
        Assert.Equal(13, Assert.Single(list.Straight).UsableLength.Inches);

        // R = (c²/4 + h²) ÷ 2h (handbook 3.4): (16 + 1.5625) ÷ 2.5.
        Assert.Equal(7.025, list.Curved.Single(r => r.Name == "Hers").EdgeRadius.Inches, 1e-9);
        Assert.Equal(["2 in circle", "Hers", "Long one"], RulerShelf.Read(kept.Rulers!).Select(r => r.Name));
    }

    [Fact]
    public void The_usual_set_is_the_planner_s_own_each_ruler_once()
    {
        Assert.Equal(Ruler.GenericSet.Count, 2 * RulerShelf.Usual.Count);
        byte[] all = RulerShelf.Write(RulerShelf.Usual, "all");
        Assert.Equal(
            Ruler.GenericSet.Select(r => r.FullName).Order(),
            RulerList.Read(all, "all").Curved.Select(r => r.FullName).Order()
        );
    }

    [Theory]
    [InlineData(0.2, 18)]
    [InlineData(1.6, 18)]
    [InlineData(0.5, 5)]
    [InlineData(0.5, 41)]
    [InlineData(double.NaN, 18)]
    public void A_foot_or_a_throat_that_can_t_be_is_refused_and_nothing_is_written(double foot, double throat)
    {
        RoomSettings odd = new() { Foot = Length.FromInches(foot), Throat = Length.FromInches(throat) };
        Assert.Throws<InputException>(() => RoomFile.Write(root, odd));
        Assert.False(File.Exists(Settings));
    }

    [Theory]
    [InlineData("")]
    [InlineData("{ \"format\": \"overlayplanner.ro")]
    [InlineData("[]")]
    [InlineData("{ \"format\": \"overlayplanner.room\", \"version\": 2 }")]
    [InlineData("{ \"format\": \"overlayplanner.room\", \"version\": 1, \"units\": \"cubits\" }")]
    [InlineData("{ \"format\": \"overlayplanner.room\", \"version\": 1, \"footInches\": \"half\" }")]
    [InlineData("{ \"format\": \"overlayplanner.room\", \"version\": 1, \"throatInches\": 900 }")]
    [InlineData("{ \"format\": \"another\", \"version\": 1 }")]
    public void A_file_that_can_t_be_read_is_said_and_never_lost(string text)
    {
        File.WriteAllText(Settings, text);
        (RoomSettings settings, string? trouble) = RoomFile.Read(root);
        Assert.Equal(new RoomSettings { Asked = true }, settings);
        Assert.NotNull(trouble);
        Assert.DoesNotContain("json", trouble, StringComparison.OrdinalIgnoreCase);
        Assert.Equal(text, File.ReadAllText(Settings));

        RoomFile.Write(root, settings with { Units = LengthUnits.Millimeters });
        Assert.Equal(LengthUnits.Millimeters, RoomFile.Read(root).Settings.Units);
        Assert.Contains(text, Directory.EnumerateFiles(root, "*.json").Select(File.ReadAllText));
    }

    [Fact]
    public void Fields_that_are_not_known_are_carried_through()
    {
        File.WriteAllText(Settings, "{ \"format\": \"overlayplanner.room\", \"version\": 1, \"lamp\": \"left\" }");
        RoomFile.Write(root, RoomFile.Read(root).Settings with { Asked = true });
        Assert.Contains("\"lamp\": \"left\"", File.ReadAllText(Settings), StringComparison.Ordinal);
    }

    [Fact]
    public void Rulers_that_can_t_be_read_leave_the_rest_and_are_put_aside_when_others_are_kept()
    {
        RoomSettings kept = RoomFile.Write(root, new() { Foot = Length.FromInches(0.5) }, [RulerShelf.Usual[3]]);
        File.WriteAllText(kept.Rulers!, "[ {");
        (RoomSettings settings, string? trouble) = RoomFile.Read(root);
        Assert.Null(settings.Rulers);
        Assert.Equal(0.5, settings.Foot!.Value.Inches);
        Assert.StartsWith("Your rulers can't be read", trouble, StringComparison.Ordinal);
        RoomFile.Write(root, settings, [RulerShelf.Usual[4]]);
        Assert.Null(RoomFile.Read(root).Trouble);
        Assert.Contains("[ {", Directory.EnumerateFiles(root).Select(File.ReadAllText));
    }

    [Fact]
    public void No_rulers_yet_and_the_usual_set_are_told_apart()
    {
        RoomFile.Write(root, new() { Rulers = "none" });
        Assert.Equal("none", RoomFile.Read(root).Settings.Rulers);
        RoomFile.Write(root, new());
        Assert.Null(RoomFile.Read(root).Settings.Rulers);
    }

    [Theory]
    [InlineData(LengthUnits.Inches, "12 1/2", 12.5)]
    [InlineData(LengthUnits.Inches, "254mm", 10)]
    [InlineData(LengthUnits.Millimeters, "254", 10)]
    [InlineData(LengthUnits.Millimeters, "254 mm", 10)]
    [InlineData(LengthUnits.Millimeters, "12 1/2 in", 12.5)]
    public void A_number_without_a_unit_is_in_the_reader_s_own(LengthUnits units, string text, double inches)
    {
        LengthWords words = new(units);
        Assert.True(words.TryRead(text, out Length length));
        Assert.Equal(inches, length.Inches, 1e-9);
        Assert.True(words.TryRead(words.Typed(length), out Length again));
        Assert.Equal(inches, again.Inches, 1e-3);
    }
}
