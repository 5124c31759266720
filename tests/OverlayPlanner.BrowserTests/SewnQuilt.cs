using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>Drafted tops in the settings that quilts are sewn in, kept as a mapped quilt is: what is seen on them can be counted beforehand.</summary>
internal static class SewnQuilt
{
    private const double Block = 8;

    /// <summary>
    /// Maple leaves, 3 × 3, with sashing and cornerstones; each lies another way, some mirrored. No leaf turned or mirrored lies on
    /// another but along its diagonal.
    /// </summary>
    public static KeptQuilt Sashed(string folder) =>
        Keep(folder, "Sashed leaves", new() { Sash = Length.FromInches(2) }, Leaf);

    /// <summary>The same on point: 3 × 3 corner to corner and four between them, with side triangles.</summary>
    public static KeptQuilt OnPoint(string folder) =>
        Keep(folder, "Leaves on point", new() { Kind = SettingKind.OnPoint }, Leaf);

    /// <summary>Ohio stars and plain squares by turns.</summary>
    public static KeptQuilt WithPlain(string folder) =>
        Keep(folder, "Stars and plain squares", new(), (r, c) => Even(r, c) ? Named("ohio-star") : new(null));

    /// <summary>Ohio stars and churn dashes by turns.</summary>
    public static KeptQuilt WithOthers(string folder) =>
        Keep(folder, "Stars and dashes", new(), (r, c) => Named(Even(r, c) ? "ohio-star" : "churn-dash"));

    private static bool Even(int row, int column) => (row + column) % 2 == 0;

    private static SettingPlace Leaf(int row, int column) =>
        Named("maple-leaf") with
        {
            Turn = (row + 2 * column) % 4,
            Mirror = (row * 2 + column) % 3 == 0,
        };

    private static SettingPlace Named(string block) => new(BlockLibrary.Find(block));

    private static KeptQuilt Keep(string folder, string name, Setting setting, Func<int, int, SettingPlace> place)
    {
        QuiltMap map = SettingDraft.Draft(
            new()
            {
                Kind = setting.Kind,
                Sash = setting.Sash,
                Columns = 3,
                Rows = 3,
                Block = Length.FromInches(Block),
                PlaceAt = place,
            }
        );
        QuiltStore store = new(folder);
        return store.Save(store.Create(name), (QuiltStore.MapFile, QuiltMapFile.Write(map)));
    }

    private sealed record Setting
    {
        public SettingKind Kind { get; init; } = SettingKind.Straight;

        public Length Sash { get; init; } = Length.Zero;
    }
}
