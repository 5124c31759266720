using System.Globalization;
using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Routing;
using OverlayPlanner.Tests.Support;

namespace OverlayPlanner.Tests.Rendering;

/// <summary>
/// What the colours look like to eyes that lack one kind of cone, by the matrices of Machado, Oliveira and Fernandes (2009, table
/// of severity 1.0), which act on linear sRGB (IEC 61966-2-1). Distances are CIE 1976 ΔE in L*a*b* (white D65), of which 2.3 is just
/// noticeable (Mahy, Van Eycken and Oosterlinck 1994).
/// </summary>
public partial class ColorVisionTests
{
    // Six steps that are just noticeable.
    private const double ToldApart = 6 * 2.3;

    // WCAG 2.2, 1.4.11: what carries a meaning, against what it lies on.
    private const double LeastContrast = 3;

    private const string StyleSheet = "src/OverlayPlanner.Workroom/wwwroot/workroom.css";

    private static readonly (string Name, double[][] Matrix)[] Eyes =
    [
        (
            "all cones",
            [
                [1, 0, 0],
                [0, 1, 0],
                [0, 0, 1],
            ]
        ),
        (
            "no long-wave cones",
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ]
        ),
        (
            "no middle-wave cones",
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ]
        ),
        (
            "no short-wave cones",
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ]
        ),
    ];

    [Fact]
    public void The_pictures_colours_are_told_apart_by_every_kind_of_eye()
    {
        (string, Ink)[] meanings = [("chalk", Palette.Chalk), ("madder", Palette.Madder), ("ochre", Palette.Ochre)];

        AssertToldApart(meanings, [Palette.Unbleached]);
    }

    // The workroom's colours are read from its style sheet, so that a change there is seen here.
    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    public void The_workroom_s_colours_are_told_apart_in_light_and_dark(int scheme)
    {
        Match rule = Schemes().Matches(File.ReadAllText(Repository.PathOf(StyleSheet)))[scheme];
        Dictionary<string, Ink> colours = Colours()
            .Matches(rule.Value)
            .ToDictionary(m => m.Groups[1].Value, m => Parse(m.Groups[2].Value));

        AssertToldApart(
            [.. new[] { "chalk", "madder", "ochre" }.Select(n => (n, colours[n]))],
            [colours["ground"], colours["sheet"]]
        );
    }

    // Photocopied, two colours may be one grey: what differs in colour must differ in width or dashes too.
    [Theory]
    [InlineData("friendship-star")]
    [InlineData("sawtooth-star")]
    [InlineData("melon-patch")]
    public void Lines_that_differ_in_colour_differ_in_width_or_dashes(string block)
    {
        Route route = RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(12), 1, 1, Length.Zero),
                new RouteWishes { Lines = LineChoice.SeamsAndArcs, Candidates = 3 }
            )
            .Route;
        Drawing[] pictures =
        [
            ChoiceSheet.Draw(route),
            .. route.Candidates.Select(c => RoutePicture.Draw(route, c).Drawing),
            .. NeedleFilm.Draw(route, route.Candidates[0]),
        ];

        Assert.Contains(pictures, p => Inks(p).Count() > 1);
        foreach (Drawing picture in pictures)
        {
            foreach (IGrouping<string, Ink> form in Inks(picture).GroupBy(f => f.Form, f => f.Ink))
            {
                Assert.True(form.Distinct().Count() == 1, $"{form.Key}: {string.Join(", ", form.Select(i => i.Hex))}");
            }
        }
    }

    // Wide enough to be wrong in: two colours that only full sight tells apart are found out.
    [Fact]
    public void A_red_and_a_green_of_one_lightness_are_found_out()
    {
        double[] apart = [.. Eyes.Select(e => Distance(e.Matrix, new(0xB0, 0x5A, 0x3C), new(0x6E, 0x7A, 0x32)))];

        Assert.True(apart[0] > ToldApart, apart[0].ToString(CultureInfo.InvariantCulture));
        Assert.True(apart[1..3].Min() < ToldApart, apart[1..3].Min().ToString(CultureInfo.InvariantCulture));
    }

    private static void AssertToldApart((string Name, Ink Ink)[] meanings, Ink[] grounds)
    {
        foreach ((string eye, double[][] matrix) in Eyes)
        {
            foreach ((string name, Ink ink) in meanings)
            {
                foreach ((string otherName, Ink other) in meanings.Where(m => m.Name != name))
                {
                    double apart = Distance(matrix, ink, other);
                    Assert.True(
                        apart >= ToldApart,
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"{eye}: {name} and {otherName} are {apart:0.0} apart"
                        )
                    );
                }

                foreach (Ink ground in grounds)
                {
                    double contrast = Contrast(ink, ground);
                    Assert.True(
                        contrast >= LeastContrast,
                        string.Create(CultureInfo.InvariantCulture, $"{name} on {ground.Hex}: {contrast:0.00} to 1")
                    );
                }
            }
        }
    }

    private static IEnumerable<(string Form, Ink Ink)> Inks(Drawing picture) =>
        picture
            .Items.OfType<Stroke>()
            .Where(s => s.Layer == Layer.Route && s.Ink.Alpha == 255)
            .Select(s =>
                (
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{s.Width:0.##} pt, dashes {string.Join(' ', s.Dash ?? [])}"
                    ),
                    s.Ink
                )
            );

    private static double Distance(double[][] eye, Ink a, Ink b)
    {
        double[] p = Lab(Times(eye, Linear(a)));
        double[] q = Lab(Times(eye, Linear(b)));
        return Math.Sqrt(p.Zip(q, (x, y) => (x - y) * (x - y)).Sum());
    }

    private static double Contrast(Ink a, Ink b)
    {
        double p = Linear(a) is var u ? 0.2126 * u[0] + 0.7152 * u[1] + 0.0722 * u[2] : 0;
        double q = Linear(b) is var v ? 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2] : 0;
        return (Math.Max(p, q) + 0.05) / (Math.Min(p, q) + 0.05);
    }

    private static double[] Linear(Ink ink) =>
        [
            .. new[] { ink.Red, ink.Green, ink.Blue }
                .Select(c => c / 255.0)
                .Select(c => c <= 0.04045 ? c / 12.92 : Math.Pow((c + 0.055) / 1.055, 2.4)),
        ];

    private static double[] Times(double[][] matrix, double[] v) =>
        [.. matrix.Select(row => Math.Clamp(row.Zip(v, (m, x) => m * x).Sum(), 0, 1))];

    // CIE 15: XYZ of linear sRGB and L*a*b* against D65.
    private static double[] Lab(double[] rgb)
    {
        double x = F((0.4124564 * rgb[0] + 0.3575761 * rgb[1] + 0.1804375 * rgb[2]) / 0.95047);
        double y = F(0.2126729 * rgb[0] + 0.7151522 * rgb[1] + 0.0721750 * rgb[2]);
        double z = F((0.0193339 * rgb[0] + 0.1191920 * rgb[1] + 0.9503041 * rgb[2]) / 1.08883);
        return [116 * y - 16, 500 * (x - y), 200 * (y - z)];

        static double F(double t) => t > 216.0 / 24389 ? Math.Cbrt(t) : (24389.0 / 27 * t + 16) / 116;
    }

    private static Ink Parse(string hex) =>
        new(Convert.ToByte(hex[..2], 16), Convert.ToByte(hex[2..4], 16), Convert.ToByte(hex[4..6], 16));

    [GeneratedRegex(@":root \{[^}]*--ground[^}]*\}")]
    private static partial Regex Schemes();

    [GeneratedRegex("--([a-z]+): #([0-9a-f]{6})")]
    private static partial Regex Colours();
}
