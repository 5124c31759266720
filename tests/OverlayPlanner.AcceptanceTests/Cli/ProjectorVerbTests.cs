using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Targets;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>A projector from its pattern to its check, by the command line: what it throws is photographed in a made scene.</summary>
public sealed class ProjectorVerbTests : IDisposable
{
    private const string Pixels = "1280x720";

    private static readonly ProjectorScene Scene = ProjectorScenes.Draw(
        80_003,
        CardLayout.OneBlock,
        1280,
        720,
        photoWidth: 1600
    ) with
    {
        Blur = 0.6,
    };

    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task From_pattern_to_profile_to_check()
    {
        string pattern = scratch.At("pattern.png");
        Tool.Outcome made = await Tool.RunAsync("project", "pattern", "--pixels", Pixels, "--out", pattern);
        Assert.Contains("Never look into the lamp", made.MustBeDone().Output, StringComparison.Ordinal);
        Assert.Equal(ThrownPicture.Pattern(1280, 720).Rgb, PhotoReader.Read(pattern).Picture.Rgb);

        // The cards' places on the quilt are known, so the profile speaks the quilt's inches.
        string profile = scratch.At("projector.json");
        string places = string.Join(
            ' ',
            Scene.Truth.Cards.Select(c =>
                FormattableString.Invariant($"{c.Card.Number}={c.Place[0]:0.###},{c.Place[1]:0.###}")
            )
        );
        string photo = Photograph("lit.png", pattern);
        Tool.Outcome told = await Tool.RunAsync([.. Calibrate(profile, photo), "--at", places]);
        Assert.Contains("95 % of the light falls within", told.MustBeDone().Output, StringComparison.Ordinal);
        Assert.Contains("Never look into the lamp", told.Output, StringComparison.Ordinal);
        ProjectorProfile read = ProjectorProfile.Read(File.ReadAllBytes(profile), profile);
        foreach (Point<ClothSpace> at in new Point<ClothSpace>[] { new(2, 4), new(6, 6), new(10, 8) })
        {
            Assert.InRange(read.Apply(at).DistanceTo(Scene.Apply(at)), 0, 1);
        }

        string check = scratch.At("check.png");
        (await Tool.RunAsync("project", "pattern", "--projector", profile, "--out", check)).MustBeDone();
        JsonElement light = (
            await Tool.RunAsync([
                "project",
                "check",
                Photograph("checked.png", check),
                "--projector",
                profile,
                .. Lens(),
                "--json",
            ])
        )
            .MustBeDone()
            .Json;
        Assert.InRange(light.GetProperty("within95Inches").GetDouble(), 0, 1.0 / 16);
        Assert.InRange(light.GetProperty("within95Px").GetDouble(), 0, 1.5);
        Assert.InRange(light.GetProperty("scalePercent").GetDouble(), -0.1, 0.1);
        Assert.True(light.GetProperty("byCards").GetBoolean());
    }

    [Fact]
    public async Task What_no_projector_can_be_calibrated_from_is_said_and_nothing_is_written()
    {
        string pattern = scratch.At("pattern.png");
        string profile = scratch.At("projector.json");
        (await Tool.RunAsync("project", "pattern", "--pixels", Pixels, "--out", pattern)).MustBeDone();
        string lit = Photograph("lit.png", pattern);
        Picture thrown = PhotoReader.Read(pattern).Picture;
        string mirrored = Photograph("mirrored.png", Changed(thrown, (x, y) => (1279 - x, y)));
        string corner = Photograph("corner.png", Changed(thrown, (x, y) => x < 260 && y < 200 ? (x, y) : (-1, -1)));
        string bare = Photograph("bare.png", thrown, Scene with { Truth = Scene.Truth with { Cards = [] } });
        string knocked = Photograph(
            "knocked.png",
            thrown,
            Scene with
            {
                Projector = Scene.Projector with
                {
                    Map = new Homography<ProjectorSpace, ProjectorSpace>([1, 0, 30, 0, 1, 0, 0, 0, 1]).After(
                        Scene.Projector.Map
                    ),
                },
            }
        );
        foreach (
            (string[] arguments, string says, string where) in new (string[], string, string)[]
            {
                (Calibrate(profile, bare), "No card is seen", "bare.png"),
                (Calibrate(profile, corner), "Too few projected marks", "corner.png"),
                (Calibrate(profile, mirrored), "mirrored", "mirrored.png"),
                ([.. Calibrate(profile, lit, "1920x1080")], "1280 × 720", "lit.png"),
                ([.. Calibrate(profile, lit), knocked], "The projector moved", "knocked.png"),
                (Calibrate(profile, scratch.At("nowhere.png")), "no such file", "nowhere.png"),
                ([.. Calibrate(profile, lit), "--at", "90=0,0 91=9,0"], "Fewer than two", "90, 91"),
                ([.. Calibrate(profile, lit), "--at", "90"], "no card with its place", "--at"),
                (
                    ["project", "check", lit, "--projector", scratch.At("none.json"), .. Lens()],
                    "does not exist",
                    "none.json"
                ),
            }
        )
        {
            (await Tool.RunAsync(arguments)).MustRefuse(says, where);
            Assert.False(File.Exists(profile));
        }

        // A photo of the calibration's pattern is none of the check picture.
        (await Tool.RunAsync([.. Calibrate(profile, lit)])).MustBeDone();
        (await Tool.RunAsync(["project", "check", lit, "--projector", profile, .. Lens()])).MustRefuse("lit.png");
        Assert.Equal(2, (await Tool.RunAsync("project", "calibrate", "--pixels", Pixels, "--out", profile)).Exit);
    }

    private string[] Calibrate(string profile, string photo, string pixels = Pixels) =>
        ["project", "calibrate", photo, "--pixels", pixels, "--out", profile, .. Lens()];

    // The made camera's lens, and a print that was measured and is true.
    private string[] Lens()
    {
        string lens = scratch.At("lens.json");
        File.WriteAllBytes(lens, CardLayouts.Nominal(Scene.Truth.Width, Scene.Truth.Height).Write());
        return ["--lens", lens, "--printed", "7x9"];
    }

    private string Photograph(string name, string thrown) => Photograph(name, PhotoReader.Read(thrown).Picture);

    private string Photograph(string name, Picture thrown, ProjectorScene? scene = null)
    {
        File.WriteAllBytes(scratch.At(name), PlainPicture.Png((scene ?? Scene).Photograph(thrown).Picture));
        return scratch.At(name);
    }

    private static Picture Changed(Picture picture, Func<int, int, (int X, int Y)> from)
    {
        byte[] rgb = new byte[picture.Rgb.Length];
        for (int y = 0; y < picture.Height; y++)
        {
            for (int x = 0; x < picture.Width; x++)
            {
                (int fx, int fy) = from(x, y);
                if (fx >= 0 && fy >= 0)
                {
                    picture.Rgb.AsSpan(picture.IndexOf(fx, fy), 3).CopyTo(rgb.AsSpan(picture.IndexOf(x, y), 3));
                }
            }
        }

        return new(picture.Width, picture.Height, rgb);
    }
}
