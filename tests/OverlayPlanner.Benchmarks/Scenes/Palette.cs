using System.Globalization;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>A colour, sRGB, each 0 to 255.</summary>
internal readonly record struct Rgb(float R, float G, float B)
{
    public float Luma => 0.299f * R + 0.587f * G + 0.114f * B;

    public static Rgb FromHex(string hex)
    {
        int v = int.Parse(hex, NumberStyles.HexNumber, CultureInfo.InvariantCulture);
        return new((v >> 16) & 255, (v >> 8) & 255, v & 255);
    }

    public Rgb Toward(Rgb o, double t) =>
        new((float)(R + (o.R - R) * t), (float)(G + (o.G - G) * t), (float)(B + (o.B - B) * t));

    /// <summary>Lighter by a part of the way to white, or darker where negative.</summary>
    public Rgb Lit(double by) => by >= 0 ? Toward(new(255, 250, 242), by) : Toward(new(18, 16, 20), -by);

    /// <summary>A colour of the same kind, a little off, as another bolt of cloth would be.</summary>
    public Rgb Near(Dice dice, double by) =>
        new(
            Math.Clamp((float)(R + dice.Between(-by, by)), 4, 252),
            Math.Clamp((float)(G + dice.Between(-by, by)), 4, 252),
            Math.Clamp((float)(B + dice.Between(-by, by)), 4, 252)
        );
}

/// <summary>Colours that a quilter would put together.</summary>
/// <param name="Name">For the scene's description.</param>
/// <param name="Grounds">Light cloth for behind.</param>
/// <param name="Features">Medium and dark cloth for the figure.</param>
/// <param name="Accents">A little of these.</param>
internal sealed record Palette(string Name, Rgb[] Grounds, Rgb[] Features, Rgb[] Accents)
{
    public static readonly Palette[] All =
    [
        Of("indigo and cream", "efe6d2 f3ecdd e6dcc4", "1f2f56 2f4a7c 16223f 4a6a9c", "b8412e c98a3a 7a2430"),
        Of("autumn", "eadcc0 f0e4cc dcc9a0", "7a3b1e a4572a 5a2e1c 6b6b2e", "c8862b 3d4a2a 8c1f1f"),
        Of("reproduction prints", "e8dcc3 decdaa eee2cb", "6d2f2a 2f3e52 5b4530 7c5a3c", "a8783c 4d5a3c 8f4a4a"),
        Of("coral and teal", "f4f1ea eceae4 f7f3ee", "1f6f78 e2725b 2c4a5a 3a9a93", "f0b04a 6b7a86 d94f4f"),
        Of("navy and mustard", "f2efe8 e9e6df f5f1e6", "24304f d69a2d 4a5a73 6e7b8b", "b94a3c 2d6a5f e3b75a"),
        Of("red and green", "f3ead8 f6efe2 e9dfc8", "9c1f26 2e5a37 7a1620 3f6e44", "c9a04a d8c39a 51301f"),
        Of("thirties pastels", "f6f1e7 f8f5ee efe9dc", "7fa7c9 e39aa6 88b58c c7a0cf", "f1c765 d9776b 5f8fb0"),
        Of("grey and yellow", "efefec e4e4e1 f6f5f1", "5b6168 8a9096 3a3f46 a4a9ad", "e8b93a f0d27a 2f3338"),
        Of("plum and sage", "eee8e0 e5ddd2 f3eee6", "5b2f4e 7d8a68 8a4a6e 4c5a46", "c99a7a b25a5a d2b48c"),
        Of("blues", "edf1f3 dfe7ec f4f4ef", "26537c 4682a9 1a3554 6fa3bf", "b5cfd8 e0c48a 8aa0b5"),
        Of("barn", "e7dcc6 efe5d2 dccfb4", "8a2a22 33302c 6e3a2a 4a4640", "b98a4a 7c8a8a 2f4858"),
        Of("dark ground", "23252e 2d2a33 1e2a33", "b8863a 8c3b4a 4f7f7a c26a4a", "e5d3a8 d9b0a0 8fb0a8"),
    ];

    /// <summary>Palettes that only the scoreboard's scenes use.</summary>
    public static readonly Palette[] HeldOut =
    [
        Of("sea glass", "eef2ec e4ebe4 f5f6f0", "2f6b68 6aa79b 1f4a52 8fb9a8", "d8a25c b5655a 42597a"),
        Of("rust and denim", "ebe3d6 ddd3c4 f1ece2", "9a4a2a 33475f 6f2f1e 5d7390", "d3a557 7e7f58 2a2f3a"),
        Of("rose and moss", "f5ece8 ecdfd9 faf4ef", "a3495f 5e6f42 7a2f47 87955f", "d9a44c 3f4f5f c98f9d"),
        Of("orchard", "f2edd9 e8e0c4 f8f4e6", "b5432e 4f7a3a 8a2b2b 7d9a45", "e0a93f 5a3a26 3d6a78"),
        Of("lilac and ink", "f0edf4 e4dfec f7f5f9", "3a3560 8d7bb5 25233f 6a5a94", "d98f5a 4f8a86 b9a6d0"),
        Of("feed sack", "f4efe2 eae3d0 faf7ee", "c0563f 3f7a8c d08a3a 5a8f5a", "7a4a7a e5b94c 8f3f3f"),
        Of("night garden", "1d2430 252b38 1a2a2c", "c9a24a 7f9f6a b5604f 5f8fa5", "e8dcc0 d58f8f 9ac0b0"),
    ];

    private static Palette Of(string name, string grounds, string features, string accents) =>
        new(name, Split(grounds), Split(features), Split(accents));

    private static Rgb[] Split(string colours) => [.. colours.Split(' ').Select(Rgb.FromHex)];
}
