using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Keeping;

public sealed class QuiltStoreTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-store-").FullName;
    private readonly QuiltStore store;

    public QuiltStoreTests() => store = new(root);

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void A_new_quilt_is_listed_with_its_name_and_nothing_temporary_is_left()
    {
        KeptQuilt quilt = store.Create("  Aunt's Star ");
        Assert.Equal(("aunt-s-star", "Aunt's Star"), (quilt.Id, quilt.Name));
        Assert.Equal(quilt, Assert.Single(store.List()));
        Assert.DoesNotContain(
            Directory.EnumerateFileSystemEntries(root, "*", SearchOption.AllDirectories),
            p => p.EndsWith(".part", StringComparison.Ordinal)
        );
    }

    // Source of the names: Microsoft, "Naming Files, Paths, and Namespaces".
    [Theory]
    [InlineData("CON", "quilt-con")]
    [InlineData("nul", "quilt-nul")]
    [InlineData("com1", "quilt-com1")]
    [InlineData("Lpt9", "quilt-lpt9")]
    [InlineData("...", "quilt")]
    [InlineData("../../etc", "etc")]
    [InlineData("console", "console")]
    public void An_id_is_a_name_that_every_system_takes(string name, string id) =>
        Assert.Equal(id, store.Create(name).Id);

    [Fact]
    public void What_is_there_already_in_any_case_counts_as_taken()
    {
        Directory.CreateDirectory(Path.Combine(root, "STAR"));
        File.WriteAllText(Path.Combine(root, "Star-2"), "");
        Assert.Equal("star-3", store.Create("Star").Id);
        Assert.Single(store.List());
    }

    [Theory]
    [InlineData("")]
    [InlineData("   ")]
    [InlineData("123456789012345678901234567890123456789012345678901234567890123456789012345678901")]
    public void A_name_that_is_none_makes_no_quilt(string name)
    {
        Assert.Throws<InputException>(() => store.Create(name));
        Assert.Empty(store.List());
    }

    [Fact]
    public void Another_name_keeps_the_id_the_files_and_unknown_fields()
    {
        KeptQuilt quilt = Filled("Star");
        Put(quilt, s => s["foot"] = new JsonObject { ["inches"] = 0.5 });
        KeptQuilt renamed = store.Rename(quilt.Id, "Moon");
        Assert.Equal((quilt.Id, "Moon"), (renamed.Id, renamed.Name));
        Assert.Equal("map", File.ReadAllText(renamed.Map!));
        Assert.Equal(0.5, Settings(renamed)["foot"]!["inches"]!.GetValue<double>());
    }

    [Fact]
    public void Settings_given_to_a_save_are_added_to_those_kept()
    {
        KeptQuilt quilt = Filled("Star");
        Put(quilt, s => s["later"] = true);
        quilt = store.Save(
            quilt,
            (QuiltStore.SettingsFile, Bytes("""{"throat": 18, "format": "other", "revision": 0}"""))
        );
        JsonNode settings = Settings(quilt);
        Assert.True(settings["later"]!.GetValue<bool>());
        Assert.Equal(18, settings["throat"]!.GetValue<int>());
        Assert.Equal("overlayplanner.kept-quilt", settings["format"]!.GetValue<string>());
        Assert.True(settings["revision"]!.GetValue<long>() > 2);
    }

    [Fact]
    public void A_copy_has_all_files_and_a_life_of_its_own()
    {
        KeptQuilt quilt = Filled("Star");
        KeptQuilt copy = store.Copy(quilt.Id, "Star again");
        store.Save(quilt, (QuiltStore.MapFile, Bytes("other")));
        Assert.Equal("map", File.ReadAllText(copy.Map!));
        Assert.Equal(["Star", "Star again"], store.List().Select(q => q.Name).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Removed_quilts_are_off_the_list_and_come_back_last_first()
    {
        KeptQuilt star = Filled("Star");
        KeptQuilt moon = Filled("Moon");
        string place = store.Remove(star.Id);
        store.Remove(moon.Id);
        Assert.Empty(store.List());
        Assert.Throws<InputException>(() => store.Open(star.Id));
        Assert.Equal("map", File.ReadAllText(Path.Combine(place, QuiltStore.MapFile)));
        Assert.Equal("Moon", store.LastRemoved?.Name);
        Assert.Equal(moon.Id, store.RestoreLast().Id);

        // Its id was taken meanwhile.
        store.Create("Star");
        KeptQuilt back = store.RestoreLast();
        Assert.Equal(("star-2", "Star", "map"), (back.Id, back.Name, File.ReadAllText(back.Map!)));
        Assert.Throws<InputException>(() => store.RestoreLast());
    }

    [Fact]
    public void The_second_of_two_tabs_is_told_and_changes_nothing()
    {
        KeptQuilt one = Filled("Star");
        KeptQuilt two = store.Open(one.Id);
        one = store.SaveIfUnchanged(one, (QuiltStore.MapFile, Bytes("first tab")));
        InputException e = Assert.Throws<InputException>(() =>
            store.SaveIfUnchanged(two, (QuiltStore.MapFile, Bytes("second tab")))
        );
        Assert.Contains("another window", e.What, StringComparison.Ordinal);
        Assert.Equal("first tab", File.ReadAllText(one.Map!));
        store.SaveIfUnchanged(one, (QuiltStore.MapFile, Bytes("first tab again")));
    }

    [Fact]
    public void Of_many_at_once_each_save_is_counted_and_one_wins_each_round()
    {
        KeptQuilt quilt = Filled("Star");
        int won = 0;
        Parallel.For(
            0,
            8,
            n =>
            {
                try
                {
                    new QuiltStore(root).SaveIfUnchanged(
                        quilt,
                        (QuiltStore.RouteFile, Bytes(FormattableString.Invariant($"{n}")))
                    );
                    Interlocked.Increment(ref won);
                }
                catch (InputException) { }
            }
        );
        Assert.Equal(1, won);
    }

    [Fact]
    public void A_later_version_is_refused_by_name_and_not_touched()
    {
        KeptQuilt quilt = Filled("Star");
        Put(quilt, s => s["version"] = 2);
        string before = File.ReadAllText(quilt.PathOf(QuiltStore.SettingsFile));
        InputException e = Assert.Throws<InputException>(() => store.Open(quilt.Id));
        Assert.Contains("overlayplanner.kept-quilt version 2", e.What, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => store.Save(quilt, (QuiltStore.MapFile, Bytes("new"))));
        Assert.Equal("map", File.ReadAllText(quilt.Map!));
        Assert.Equal(before, File.ReadAllText(quilt.PathOf(QuiltStore.SettingsFile)));
        Assert.Empty(store.List());
        Assert.Equal([quilt.Id], store.Unreadable());
    }

    [Theory]
    [InlineData("")]
    [InlineData("[]")]
    [InlineData("{\"format\": 7}")]
    [InlineData("{\"format\": \"overlayplanner.kept-quilt\", \"version\": \"1\", \"name\": \"x\"}")]
    [InlineData("{\"format\": \"overlayplanner.kept-quilt\", \"version\": 1}")]
    [InlineData("{\"name\": \"a\", \"name\": \"b\"}")]
    public void Broken_settings_are_bad_input(string text)
    {
        KeptQuilt quilt = Filled("Star");
        File.WriteAllText(quilt.PathOf(QuiltStore.SettingsFile), text);
        Assert.Throws<InputException>(() => store.Open(quilt.Id));
    }

    [Fact]
    public void A_save_that_counted_is_finished_by_whoever_opens_the_quilt()
    {
        // The state between the first and the second of two moves into place.
        KeptQuilt quilt = Filled("Star");
        string saved = Directory.CreateDirectory(quilt.Folder + "/.saved").FullName;
        File.WriteAllText(Path.Combine(saved, QuiltStore.MapFile), "saved last");
        Assert.Equal("saved last", File.ReadAllText(new QuiltStore(root).Open(quilt.Id).Map!));
        Assert.False(Directory.Exists(saved));
    }

    [Fact]
    public void Old_left_overs_are_deleted_and_young_ones_and_files_are_not()
    {
        KeptQuilt quilt = Filled("Star");
        string old = Directory.CreateDirectory(Path.Combine(root, ".0123.part")).FullName;
        string oldFile = quilt.PathOf(".photo.jpg.1234.part");
        string young = quilt.PathOf(".photo.jpg.5678.part");
        string named = quilt.PathOf("photo.part");
        foreach (string file in new[] { Path.Combine(old, QuiltStore.SettingsFile), oldFile, young, named })
        {
            File.WriteAllText(file, "{}");
        }

        DateTime twoHours = DateTime.UtcNow.AddHours(-2);
        File.SetLastWriteTimeUtc(oldFile, twoHours);
        File.SetLastWriteTimeUtc(named, twoHours);
        Directory.SetLastWriteTimeUtc(old, twoHours);
        QuiltStore again = new(root);
        Assert.Equal(
            (false, false, true, true),
            (Directory.Exists(old), File.Exists(oldFile), File.Exists(young), File.Exists(named))
        );
        Assert.Single(again.List());
        Assert.Equal(named, quilt.Photo);
    }

    [Fact]
    public void A_read_only_folder_refuses_clearly_and_keeps_what_is_there()
    {
        if (OperatingSystem.IsWindows())
        {
            Assert.Skip("Unix rights are set.");
            return;
        }

        Assert.SkipWhen(Environment.IsPrivilegedProcess, "To root every folder is writable.");
        KeptQuilt quilt = Filled("Star");
        UnixFileMode before = File.GetUnixFileMode(quilt.Folder);
        File.SetUnixFileMode(quilt.Folder, UnixFileMode.UserRead | UnixFileMode.UserExecute);
        try
        {
            Assert.Throws<InputException>(() => store.Save(quilt, (QuiltStore.MapFile, Bytes("new"))));
            Assert.Equal("map", File.ReadAllText(store.Open(quilt.Id).Map!));
        }
        finally
        {
            File.SetUnixFileMode(quilt.Folder, before);
        }
    }

    [Fact]
    public void A_target_that_is_a_folder_changes_none_of_the_files()
    {
        KeptQuilt quilt = Filled("Star");
        Directory.CreateDirectory(quilt.PathOf(QuiltStore.RouteFile));
        Assert.Throws<InputException>(() =>
            store.Save(quilt, (QuiltStore.MapFile, Bytes("new")), (QuiltStore.RouteFile, Bytes("new")))
        );
        Assert.Equal("map", File.ReadAllText(quilt.Map!));
        Assert.Equal(quilt.Stamp, store.Open(quilt.Id).Stamp);
    }

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    private static JsonNode Settings(KeptQuilt quilt) =>
        JsonNode.Parse(File.ReadAllBytes(quilt.PathOf(QuiltStore.SettingsFile)))!;

    private static void Put(KeptQuilt quilt, Action<JsonNode> change)
    {
        JsonNode settings = Settings(quilt);
        change(settings);
        File.WriteAllBytes(quilt.PathOf(QuiltStore.SettingsFile), JsonSerializer.SerializeToUtf8Bytes(settings));
    }

    private KeptQuilt Filled(string name) => store.Save(store.Create(name), (QuiltStore.MapFile, Bytes("map")));
}
