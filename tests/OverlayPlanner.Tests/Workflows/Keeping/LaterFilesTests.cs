using System.Diagnostics;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Bringing;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Keeping;

/// <summary>Quilts that a later version of the program wrote, and a folder that nothing can be written into any more.</summary>
public sealed class LaterFilesTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-later-").FullName;
    private bool mounted;

    public void Dispose()
    {
        if (mounted)
        {
            Run("umount", root);
        }

        Directory.Delete(root, recursive: true);
    }

    [Theory]
    [InlineData(QuiltStore.MapFile, "overlayplanner.quilt-map", "its map")]
    [InlineData(QuiltStore.RouteFile, "overlayplanner.route", "its choices")]
    [InlineData(QuiltSteps.PlaceFile, "overlayplanner.photo", "the four pins on its photo")]
    [InlineData(PhotoQualityFile.Name, "overlayplanner.quality", "a part of it")]
    public void A_later_file_is_named_on_the_shelf_and_nothing_takes_its_place(string file, string format, string part)
    {
        QuiltStore store = new(root);
        byte[] photo = OverlayPlanner.Workflows.Sample.Load().Jpeg;
        KeptQuilt quilt = QuiltSteps.BringNew(store, photo, "kept.jpg", TestContext.Current.CancellationToken);
        byte[] later = Encoding.UTF8.GetBytes($$"""{ "format": "{{format}}", "version": 99, "more": [1, 2] }""");
        File.WriteAllBytes(quilt.PathOf(file), later);
        ShelfEntry entry = Assert.Single(ShelfEntry.Of(store));
        Assert.Equal("kept", entry.Name);
        Assert.Contains(part, entry.Trouble, StringComparison.Ordinal);
        Assert.Contains("later version", entry.Trouble, StringComparison.Ordinal);
        InputException e = Assert.Throws<InputException>(() =>
            QuiltSteps.BringPhoto(store, quilt, photo, "other.jpg", TestContext.Current.CancellationToken)
        );
        Assert.Contains("later version", e.What, StringComparison.Ordinal);
        Assert.Equal(later, File.ReadAllBytes(quilt.PathOf(file)));

        // What does not touch it still goes: a name may change.
        Assert.Equal("renamed", store.Rename(quilt.Id, "renamed").Name);
        Assert.Equal(later, File.ReadAllBytes(quilt.PathOf(file)));
    }

    [Fact]
    public void Later_settings_keep_their_quilt_on_the_shelf_under_its_name()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = store.Create("Mine");
        byte[] later = Encoding.UTF8.GetBytes(
            """{ "format": "overlayplanner.kept-quilt", "version": 99, "name": "Hers" }"""
        );
        File.WriteAllBytes(quilt.PathOf(QuiltStore.SettingsFile), later);
        ShelfEntry entry = Assert.Single(ShelfEntry.Of(store));
        Assert.Null(entry.Quilt);
        Assert.Equal("Hers", entry.Name);
        Assert.Contains("later version", entry.Trouble, StringComparison.Ordinal);
        Assert.Contains("newer program", entry.Trouble, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => store.Rename(quilt.Id, "Other"));
        Assert.Equal(later, File.ReadAllBytes(quilt.PathOf(QuiltStore.SettingsFile)));
    }

    [Fact]
    public void Pins_that_are_damaged_are_refused_in_words()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = QuiltSteps.BringSample(store, TestContext.Current.CancellationToken);
        foreach (string damaged in new[] { "{ half", "{}", """{ "width": 0, "height": 5, "corners": [1, 2] }""" })
        {
            File.WriteAllText(quilt.PathOf(QuiltSteps.PlaceFile), damaged);
            InputException e = Assert.Throws<InputException>(() => QuiltSteps.PlaceOf(quilt));
            Assert.Contains("pins", e.What, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void A_folder_made_read_only_meanwhile_refuses_each_change_in_words_and_loses_nothing()
    {
        mounted = OperatingSystem.IsLinux() && Run("mount", "-t", "tmpfs", "-o", "size=30m", "tmpfs", root);
        Assert.SkipUnless(mounted, "A disk of its own can't be mounted here: that needs Linux and its root.");
        QuiltStore store = new(root);
        KeptQuilt quilt = QuiltSteps.BringSample(store, TestContext.Current.CancellationToken);
        Dictionary<string, byte[]> before = Directory
            .EnumerateFiles(quilt.Folder)
            .ToDictionary(f => f, File.ReadAllBytes, StringComparer.Ordinal);
        Assert.True(Run("mount", "-o", "remount,ro", root));
        byte[] photo = OverlayPlanner.Workflows.Sample.Load().Jpeg;
        CancellationToken stop = TestContext.Current.CancellationToken;
        Func<object>[] changes =
        [
            () => QuiltSteps.BringNew(store, photo, "new.jpg", stop),
            () => QuiltSteps.BringPhoto(store, quilt, photo, "new.jpg", stop),
            () => PhotoQualityFile.Accept(store, quilt),
            () => store.Rename(quilt.Id, "Other"),
            () => store.Copy(quilt.Id, "Copy"),
            () => store.Remove(quilt.Id),
        ];
        foreach (Func<object> change in changes)
        {
            InputException e = Assert.Throws<InputException>(() => change());
            Assert.Contains("rights", e.Remedy, StringComparison.Ordinal);
        }

        // Still there, to be looked at and to be carried away.
        Assert.Equal([quilt.Id], new QuiltStore(root).List().Select(q => q.Id));
        Assert.NotNull(QuiltSteps.PlaceOf(store.Open(quilt.Id)));
        Assert.All(before, f => Assert.Equal(f.Value, File.ReadAllBytes(f.Key)));
        Assert.True(Run("mount", "-o", "remount,rw", root));
        Assert.Equal("Other", store.Rename(quilt.Id, "Other").Name);
    }

    private static bool Run(string program, params string[] arguments)
    {
        try
        {
            using Process? process = Process.Start(program, arguments);
            process?.WaitForExit();
            return process?.ExitCode == 0;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return false;
        }
    }
}
