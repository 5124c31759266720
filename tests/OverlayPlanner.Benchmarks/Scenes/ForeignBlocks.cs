using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Blocks that are in no library, for "unknown" is an answer: each drawn here on a grid of six to ten.</summary>
internal static class ForeignBlocks
{
    /// <summary>The blocks; the first half may be looked at while the finder is worked on.</summary>
    public static IReadOnlyList<BlockDraft> All { get; } =
    [
        Of("Foreign offset cross", 6, "0 0 2 0 2 4 0 4", "0 4 4 4 4 6 0 6", "4 2 6 2 6 6 4 6", "2 0 6 0 6 2 2 2", "2 2 4 2 4 4 2 4"),
        Of("Foreign kite", 6, "0 0 6 0 2 2", "0 0 2 2 0 6", "2 2 6 0 6 6", "2 2 6 6 0 6"),
        Of("Foreign steps", 6, "0 0 3 0 3 1 0 1", "3 0 6 0 6 2 3 2", "0 1 3 1 3 2 6 2 6 4 0 4", "0 4 4 4 4 6 0 6", "4 4 6 4 6 6 4 6"),
        Of("Foreign tent", 8, "0 0 8 0 4 3", "0 0 4 3 0 5", "8 0 8 5 4 3", "0 5 4 3 4 8 0 8", "4 3 8 5 8 8 4 8"),
        Of("Foreign fence", 8, "0 0 1 0 1 8 0 8", "1 0 8 0 8 1 1 1", "1 1 5 1 5 8 1 8", "5 1 8 1 8 4 5 4", "5 4 8 4 8 8 5 8"),
        Of("Foreign sail", 8, "0 0 3 0 3 8", "0 0 3 8 0 8", "3 0 8 0 3 5", "8 0 8 5 3 5", "3 5 8 5 8 8 3 8"),
        Of("Foreign wedge", 10, "0 0 4 0 6 10 0 10", "4 0 7 0 10 4 10 10 6 10", "7 0 10 0 10 4"),
        Of("Foreign window", 10, "0 0 10 0 7 3 2 3", "0 0 2 3 2 8 0 10", "2 8 7 8 10 10 0 10", "7 3 10 0 10 10 7 8", "2 3 7 3 7 6 2 6", "2 6 7 6 7 8 2 8"),
        Of("Foreign lane", 10, "0 0 5 0 0 7", "5 0 8 0 0 10 0 7", "8 0 10 0 10 3 3 10 0 10", "10 3 10 10 3 10"),
        Of("Foreign hinge", 10, "0 0 6 0 6 4 0 4", "6 0 10 0 10 7 6 7", "3 4 6 4 6 7 10 7 10 10 3 10", "0 4 3 4 3 10 0 10"),
        Of("Foreign lantern", 8, "0 0 8 0 5 2 3 2", "0 0 3 2 3 6 0 8", "8 0 8 8 5 6 5 2", "3 6 5 6 8 8 0 8", "3 2 5 2 5 6 3 6"),
        Of("Foreign stile", 10, "0 0 10 0 10 2 0 2", "0 2 3 2 3 10 0 10", "3 2 10 2 3 6", "10 2 10 7 3 6", "3 6 10 7 10 10 3 10"),
    ];

    private static BlockDraft Of(string name, double grid, params string[] rings) =>
        new(
            BlockLibrary.IdOf(name),
            name,
            grid,
            "foreign",
            null,
            [
                .. rings.Select(r =>
                {
                    double[] v = [.. r.Split(' ').Select(t => double.Parse(t, System.Globalization.CultureInfo.InvariantCulture))];
                    return (IReadOnlyList<DraftCorner>)
                        [.. Enumerable.Range(0, v.Length / 2).Select(i => new DraftCorner(v[2 * i] / grid, v[2 * i + 1] / grid))];
                }),
            ]
        );
}
