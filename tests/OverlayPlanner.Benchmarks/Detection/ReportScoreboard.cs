using System.Globalization;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Detection.LowSide;
using OverlayPlanner.Detection.Outline;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>What is said about a found map: low sides, the outline's sides, and the measures of blocks, on made scenes.</summary>
public static class ReportScoreboard
{
    private const double MarginInches = 1;
    private const double SameSeam = 0.125;

    /// <summary>Runs the finder and compares what is said with what was sewn.</summary>
    /// <param name="quick">An eighth of the scenes, otherwise a half.</param>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        List<(string, string, string, bool)> rows = [];
        using SeamFinder finder = new();
        Totals plain = new();
        Totals printed = new();
        int step = quick ? 8 : 2;
        Look(finder, SceneSet.ForScoreboard(), step, plain);
        Look(finder, SceneSet.LoudPrints(), step, printed);
        rows.AddRange(plain.LowSideRows("plain and quiet cloth"));
        rows.AddRange(printed.LowSideRows("loud prints"));
        rows.Add(
            (
                "outline: sides told (seam, raw edge, cut) and of these right",
                Share(plain.SidesTold + printed.SidesTold, plain.Sides + printed.Sides)
                    + ", "
                    + Share(plain.SidesRight + printed.SidesRight, plain.SidesTold + printed.SidesTold),
                "for information",
                true
            )
        );
        rows.Add(
            (
                "blocks found within 1/8 in: sides and diagonals inside their stated 95 % interval",
                Share(plain.Held + printed.Held, plain.Figures + printed.Figures),
                "for information (93–97 %)",
                true
            )
        );
        return rows;
    }

    private static void Look(SeamFinder finder, IReadOnlyList<SceneWishes> wishes, int step, Totals totals)
    {
        Length margin = Length.FromInches(MarginInches);
        for (int i = 0; i < wishes.Count; i += step)
        {
            MadeScene scene = SceneMaker.Make(wishes[i]);
            // The corners are exact, so none of the stated error may be theirs: it would hide how well the points' own is told.
            PlaneFit plane = PlaneFromCorners.Solve(
                scene.Corners,
                scene.Truth.Width,
                scene.Truth.Height,
                scene.PhotoWidth,
                scene.PhotoHeight,
                cornerSigmaPixels: 0
            );
            Picture picture = Rectification.Rectify(
                scene.Decode(),
                plane.PhotoFromCloth,
                scene.Truth.Width,
                scene.Truth.Height,
                Rectification.UsualPixelsPerInch,
                margin
            );
            QuiltMap found = finder
                .Find(
                    picture,
                    new()
                    {
                        Width = scene.Truth.Width,
                        Height = scene.Truth.Height,
                        Margin = margin,
                        ScaleSigma = plane.SigmaAt,
                        PhotoPixelsPerInch = plane.PixelsPerInch,
                    }
                )
                .Map;
            totals.AddLowSides(LowSides.Propose(found, [LowSideRule.Light], picture, margin).Map, scene.Truth);
            totals.AddBlocks(found, scene.Truth);
            EdgeKind right = wishes[i].Surround is Surround.Border or Surround.Frame ? EdgeKind.Seam : EdgeKind.Raw;
            totals.AddSides(OutlineReader.Read(found, picture, margin, EdgeKind.Seam), right);

            // A part of the same picture whose sides lie inside the cloth, off every block's side.
            (Picture part, double width, double height) = Crop(picture, found);
            QuiltMap bare = MapBuilder.Build(
                Length.FromInches(width),
                Length.FromInches(height),
                [],
                [],
                Length.FromInches(0.02)
            );
            totals.AddSides(OutlineReader.Read(bare, part, margin, EdgeKind.Seam), EdgeKind.Cut);
        }
    }

    private static (Picture Part, double Width, double Height) Crop(Picture picture, QuiltMap map)
    {
        double density = picture.PixelsPerInch!.Value;
        int x0 = (int)((MarginInches + 0.11 * map.Width.Inches) * density);
        int y0 = (int)((MarginInches + 0.11 * map.Height.Inches) * density);
        int w = (int)(0.71 * map.Width.Inches * density);
        int h = (int)(0.71 * map.Height.Inches * density);
        byte[] rgb = new byte[w * h * 3];
        for (int y = 0; y < h; y++)
        {
            Array.Copy(picture.Rgb, picture.IndexOf(x0, y0 + y), rgb, y * w * 3, w * 3);
        }

        return (new(w, h, rgb, density), w / density - 2 * MarginInches, h / density - 2 * MarginInches);
    }

    private static string Share(int n, int of) =>
        of == 0 ? "none" : string.Create(CultureInfo.InvariantCulture, $"{100.0 * n / of:0.0} % of {of}");

    private sealed class Totals
    {
        private readonly List<(double Sure, bool Right)> said = [];
        private int seams;
        private int open;
        private int flips;

        public int Sides { get; private set; }

        public int SidesTold { get; private set; }

        public int SidesRight { get; private set; }

        public int Held { get; private set; }

        public int Figures { get; private set; }

        public void AddLowSides(QuiltMap found, QuiltMap truth)
        {
            foreach (Seam s in found.Seams.Where(s => s.Role != SeamRole.Edge))
            {
                Edge<ClothSpace> path = found.EdgeOf(s);
                Point<ClothSpace> middle = path.PointAt(0.5);
                Seam real = truth.Seams.MinBy(t => truth.EdgeOf(t).Nearest(middle).Distance)!;
                Edge<ClothSpace> line = truth.EdgeOf(real);
                (double at, double distance) = line.Nearest(middle);
                double along = path.DirectionAt(0.5).Dot(line.DirectionAt(at));
                if (distance > SameSeam || Math.Abs(along) < 0.95 || real.Role == SeamRole.Edge)
                {
                    continue;
                }

                seams++;
                flips += s.Id.Contains('.', StringComparison.Ordinal) ? 1 : 0;
                if (s.Ditch is { } low)
                {
                    Side? right =
                        along > 0 ? real.Ditch
                        : real.Ditch == Side.Left ? Side.Right
                        : real.Ditch == Side.Right ? Side.Left
                        : null;
                    open += right is null ? 1 : 0;
                    said.Add((s.DitchConfidence!.Value, low == right));
                }
            }
        }

        public void AddSides((QuiltMap Map, Finding Finding) read, EdgeKind right)
        {
            // Each side's kind stands in the finding; "cut, the cloth goes on" has the one comma that parts no sides.
            string[] sides = read.Finding.Where.Replace(", the cloth", "", StringComparison.Ordinal).Split(", ");
            string word =
                right == EdgeKind.Seam ? "a seam"
                : right == EdgeKind.Raw ? "the raw edge"
                : "cut";
            Sides += 4;
            SidesTold += sides.Count(t => !t.Contains("not seen", StringComparison.Ordinal));
            SidesRight += sides.Count(t =>
                !t.Contains("not seen", StringComparison.Ordinal) && t.Contains(word, StringComparison.Ordinal)
            );
        }

        public void AddBlocks(QuiltMap found, QuiltMap truth)
        {
            foreach (Block b in found.Blocks)
            {
                Block real = truth.Blocks.MinBy(t =>
                    t.Corners[0].DistanceTo(b.Corners[0]) + t.Corners[2].DistanceTo(b.Corners[2])
                )!;
                if (real.Corners.Zip(b.Corners).Any(c => c.First.DistanceTo(c.Second) > SameSeam))
                {
                    continue;
                }

                BlockReport measured = BlockReport.Of(found, b, default);
                BlockReport sewn = BlockReport.Of(truth, real, default);
                foreach (
                    (Measured m, Measured t) in measured
                        .Sides.Concat(measured.Diagonals)
                        .Zip(sewn.Sides.Concat(sewn.Diagonals))
                )
                {
                    Figures++;
                    Held += Math.Abs(m.Value - t.Value) <= m.Within95 ? 1 : 0;
                }
            }
        }

        public IEnumerable<(string, string, string, bool)> LowSideRows(string cloth)
        {
            yield return (
                $"low side from the light, {cloth}: seams given one",
                Share(said.Count, seams),
                "for information",
                true
            );
            yield return (
                $"low side from the light, {cloth}: of these right; of those pressed to one side",
                Share(said.Count(s => s.Right), said.Count) + "; " + Share(said.Count(s => s.Right), said.Count - open),
                "for information",
                true
            );
            double error = said.GroupBy(s => (int)(s.Sure * 20))
                .Sum(g =>
                    Math.Abs(g.Average(s => s.Sure) - g.Average(s => s.Right ? 1.0 : 0)) * g.Count() / said.Count
                );
            yield return (
                $"low side from the light, {cloth}: expected calibration error; seams split in vain",
                string.Create(CultureInfo.InvariantCulture, $"{error:0.000}; {flips / 2}"),
                "for information (≤ 0.05)",
                true
            );
        }
    }
}
