using System.Diagnostics;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Keeping;

/// <summary>A disk that fills up, a real one of three megabytes, and what goes with a save.</summary>
public sealed class FullDiskTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-full-").FullName;
    private bool mounted;

    public void Dispose()
    {
        if (mounted)
        {
            Run("umount", root);
        }

        Directory.Delete(root, recursive: true);
    }

    [Fact]
    public void A_photo_that_finds_no_room_is_refused_and_leaves_the_other_quilts_and_no_empty_one()
    {
        mounted = OperatingSystem.IsLinux() && Run("mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", root);
        Assert.SkipUnless(mounted, "A small disk can't be mounted here: that needs Linux and its root.");
        byte[] photo = OverlayPlanner.Workflows.Sample.Load().Jpeg;
        QuiltStore store = new(root);
        KeptQuilt first = QuiltSteps.BringNew(store, photo, "first.jpg", TestContext.Current.CancellationToken);
        InputException e = Assert.Throws<InputException>(() =>
            QuiltSteps.BringNew(store, photo, "second.jpg", TestContext.Current.CancellationToken)
        );
        Assert.Contains("space on the disk", e.Remedy, StringComparison.Ordinal);
        Assert.Equal([first.Id], store.List().Select(q => q.Id));
        Assert.Equal(photo, File.ReadAllBytes(store.Open(first.Id).Photo!));
        Assert.Equal([".lock", first.Id], Directory.EnumerateFileSystemEntries(root).Select(Path.GetFileName).Order());
    }

    [Fact]
    public void A_new_photo_takes_the_map_and_the_routes_of_the_former_with_it()
    {
        byte[] photo = OverlayPlanner.Workflows.Sample.Load().Jpeg;
        QuiltStore store = new(root);
        KeptQuilt quilt = QuiltSteps.BringNew(store, photo, "first.png", TestContext.Current.CancellationToken);
        quilt = store.Save(quilt, (QuiltStore.MapFile, new byte[1]), (QuiltStore.RouteFile, new byte[1]));
        KeptQuilt stale = quilt;
        quilt = QuiltSteps.BringPhoto(store, quilt, photo, "second.jpg", TestContext.Current.CancellationToken).Quilt;
        Assert.Null(quilt.Map);
        Assert.Null(quilt.Route);
        Assert.EndsWith("photo.jpg", quilt.Photo, StringComparison.Ordinal);
        Assert.Throws<InputException>(() =>
            QuiltSteps.BringPhoto(store, stale, photo, "third.jpg", TestContext.Current.CancellationToken)
        );
    }

    [Fact]
    public void A_save_that_was_cut_off_takes_away_what_it_was_to_take_away()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = store.Create("Cut off");
        quilt = store.Save(quilt, (QuiltStore.RouteFile, new byte[3]));
        string ready = Directory.CreateDirectory(Path.Combine(quilt.Folder, ".saved")).FullName;
        File.WriteAllBytes(Path.Combine(ready, QuiltStore.RouteFile + ".gone"), []);
        File.WriteAllBytes(Path.Combine(ready, QuiltStore.MapFile), [7]);
        quilt = store.Open(quilt.Id);
        Assert.Null(quilt.Route);
        Assert.Equal([7], File.ReadAllBytes(quilt.Map!));
        Assert.False(Directory.Exists(ready));
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
