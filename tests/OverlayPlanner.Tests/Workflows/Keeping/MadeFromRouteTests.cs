using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Keeping;

public sealed class MadeFromRouteTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-made-").FullName;

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void What_is_made_from_the_route_lies_beside_it_and_changes_nothing_of_the_quilt()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = WithRoute(store);
        OutputFiles files = MadeFromRoute.Begin(quilt);
        files.Add(quilt.PathOf("sheets.pdf"), Bytes("new"));
        files.Commit(TestContext.Current.CancellationToken);
        Assert.Equal("new", File.ReadAllText(quilt.PathOf("sheets.pdf")));

        // Saved as it was read: another window's work on this quilt is not turned away for a printed sheet.
        store.SaveIfUnchanged(quilt, (QuiltStore.RouteFile, Bytes("route")));
    }

    [Fact]
    public void A_route_that_was_planned_anew_or_is_gone_gets_no_sheets_of_the_one_before()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = WithRoute(store);
        OutputFiles planned = MadeFromRoute.Begin(quilt);
        planned.Add(quilt.PathOf("sheets.pdf"), Bytes("old"));
        store.Save(quilt, (QuiltStore.RouteFile, Bytes("another")));
        Assert.Throws<InputException>(() => planned.Commit(TestContext.Current.CancellationToken));

        OutputFiles mapped = MadeFromRoute.Begin(quilt);
        mapped.Add(quilt.PathOf("sheets.pdf"), Bytes("old"));
        store.Replace(store.Open(quilt.Id), [QuiltStore.RouteFile]);
        Assert.Throws<InputException>(() => mapped.Commit(TestContext.Current.CancellationToken));
        Assert.False(File.Exists(quilt.PathOf("sheets.pdf")));
    }

    [Fact]
    public async Task They_wait_while_another_changes_the_quilts()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = WithRoute(store);
        OutputFiles files = MadeFromRoute.Begin(quilt);
        files.Add(quilt.PathOf("card.pdf"), Bytes("card"));
        Task writing;
        using (StoreLock.Take(root))
        {
            writing = Task.Run(() => files.Commit(CancellationToken.None), TestContext.Current.CancellationToken);
            await Task.Delay(200, TestContext.Current.CancellationToken);
            Assert.False(File.Exists(quilt.PathOf("card.pdf")));
        }

        await writing;
        Assert.True(File.Exists(quilt.PathOf("card.pdf")));
    }

    private static KeptQuilt WithRoute(QuiltStore store) =>
        store.Save(store.Create("One"), (QuiltStore.RouteFile, Bytes("route")));

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);
}
