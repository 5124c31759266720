using System.Security.Cryptography;
using System.Text.Json;
using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;

namespace OverlayPlanner.Tests.Detection;

public sealed class SeamNetworkTests
{
    private static readonly string Folder = Path.Combine(FindRoot(), "calibration", "seam-model");

    [Fact]
    public void The_built_in_model_is_the_one_that_its_page_describes()
    {
        using Stream model = typeof(SeamNetwork).Assembly.GetManifestResourceStream("seam.onnx")!;
        string hash = Convert.ToHexStringLower(SHA256.HashData(model));
        Assert.Contains(hash, File.ReadAllText(Path.Combine(Folder, "MODEL.md")), StringComparison.Ordinal);
    }

    [Fact]
    public void Preprocessing_agrees_with_the_training_on_the_fixed_crops()
    {
        using JsonDocument expected = JsonDocument.Parse(
            File.ReadAllBytes(Path.Combine(Folder, "fixed-crops", "expected.json"))
        );
        using SeamNetwork network = new();
        int compared = 0;
        foreach (JsonElement crop in expected.RootElement.GetProperty("crops").EnumerateArray())
        {
            using Mat bgr = Cv2.ImRead(Path.Combine(Folder, "fixed-crops", crop.GetProperty("file").GetString()!));
            using Mat rgb = new();
            Cv2.CvtColor(bgr, rgb, ColorConversionCodes.BGR2RGB);
            EvidenceMap evidence = network.Look(rgb, SeamNetwork.PixelsPerInch, 0, CancellationToken.None);
            foreach (JsonElement sample in crop.GetProperty("samples").EnumerateArray())
            {
                float[] plane = sample.GetProperty("channel").GetInt32() == 0 ? evidence.Seam : evidence.Junction;
                int at = sample.GetProperty("y").GetInt32() * evidence.Width + sample.GetProperty("x").GetInt32();

                // The model page: a program that agrees within 0.001 prepares its input as the training did.
                Assert.Equal(sample.GetProperty("probability").GetDouble(), plane[at], 0.001);
                compared++;
            }
        }

        // Three crops, at least eight places each.
        Assert.True(compared >= 24);
    }

    [Fact]
    public void Tiles_give_what_the_whole_picture_gives()
    {
        // 1.4 megapixels are cut in two; the cut must not show. Made of slanted stripes, so that every place has evidence.
        using Mat picture = new(700, 2000, MatType.CV_8UC3, new Scalar(180, 150, 120));
        for (int i = 0; i < 40; i++)
        {
            Cv2.Line(picture, new Point(i * 90 - 300, 0), new Point(i * 90, 700), new Scalar(60, 70, i * 6), 40);
        }

        using SeamNetwork network = new();
        EvidenceMap tiled = network.Look(picture, SeamNetwork.PixelsPerInch, 0, CancellationToken.None);
        using Mat middle = new(picture, new Rect(600, 0, 800, 700));
        EvidenceMap whole = network.Look(middle, SeamNetwork.PixelsPerInch, 0, CancellationToken.None);
        double sum = 0;
        int far = 0;
        const int Compared = 700 * 200;
        for (int y = 0; y < 700; y++)
        {
            for (int x = 300; x < 500; x++)
            {
                double away = Math.Abs(tiled.Seam[y * 2000 + 600 + x] - whole.Seam[y * 800 + x]);
                sum += away;
                far += away > 0.25 ? 1 : 0;
            }
        }

        // Both see at least 96 px on every side; what lies farther moves a probability by little, and seldom by much. Moving the
        // grid of 16 px that the network works on by half a cell moves single pixels by 0.26 without any tile.
        Assert.True(sum / Compared < 0.005, FormattableString.Invariant($"tiles differ by {sum / Compared:0.0000}"));
        Assert.True(
            far < Compared / 250,
            FormattableString.Invariant($"{far} of {Compared} pixels differ by a quarter")
        );
    }

    private static string FindRoot()
    {
        DirectoryInfo? at = new(AppContext.BaseDirectory);
        while (at is not null && !File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
        {
            at = at.Parent;
        }

        return at?.FullName
            ?? throw new DirectoryNotFoundException("OverlayPlanner.sln is in no folder above the tests.");
    }
}
