using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public sealed class Probe(ITestOutputHelper output)
{
    [Fact(Explicit = true)]
    public void Phone()
    {
        string[] only = (Environment.GetEnvironmentVariable("EXTRA") ?? "").Split(',');
        int scenes = int.Parse(Environment.GetEnvironmentVariable("SCENES") ?? "2");
        foreach (PhoneExtra extra in Enum.GetValues<PhoneExtra>())
        {
            if (only[0] != "" && !only.Contains(extra.ToString())) continue;
            foreach (CardLayout layout in new[] { CardLayout.WholeTop, CardLayout.LoadedBand })
            {
                if (extra == PhoneExtra.Moved && layout == CardLayout.WholeTop) continue;
                var w = System.Diagnostics.Stopwatch.StartNew();
                List<(string, string, string, bool)> rows = [];
                PhoneScore.Measure(extra, layout, scenes).AddRows(rows, extra + " " + layout);
                foreach (var r in rows) output.WriteLine($"{r}");
                output.WriteLine($"   {w.Elapsed.TotalSeconds:0.0} s  board {PhoneScene.BoardOf(extra)?.Terms} {PhoneScene.BoardOf(extra)?.RmsPixels:0.000}");
            }
        }
    }

    [Fact(Explicit = true)]
    public void Bound()
    {
        int scenes = int.Parse(Environment.GetEnvironmentVariable("SCENES") ?? "15");
        foreach (CardLayout layout in new[] { CardLayout.FourCorners, CardLayout.WholeTop })
        {
            LeastError least = new();
            ErrorTally tally = new();
            ErrorTally synth = new();
            for (int k = 0; k < scenes; k++)
            {
                int seed = 40_000 + k;
                Random random = new(seed);
                CardTruth drawn = CardLayouts.Draw(random, layout, 1, withProfile: true);
                CardTruth truth = drawn with
                {
                    Print = [1, 1],
                    Cards = [.. drawn.Cards.Select(c => (c.Card, new[] { c.Place[0], c.Place[1], c.Place[2], 0, 0, 0 }))],
                };
                double blur = 0.5 + 1.0 * random.NextDouble();
                Photo made = CardRenderer.Render(truth, 0, new(blur, 2, 92), seed);
                CardWishes wishes = new() { Lens = CardLayouts.Nominal(truth.Width, truth.Height), Printed = PrintedSize.Parse("7x9") };
                CardsPlane plane = PlaneFromCards.Solve([made], wishes);
                LeastError one = new();
                one.Add(truth, plane.Seen[0], wishes.Lens, wishes.Printed);
                least.Add(truth, plane.Seen[0], wishes.Lens, wishes.Printed);
                ErrorTally t = Tally(truth, plane);
                tally.Add(t);
                CardsPlane gauss = PlaneFromCards.Solve(CardLayouts.Observe(truth, one.CornerRms, new Random(seed)), wishes);
                ErrorTally g = Tally(truth, gauss);
                synth.Add(g);
                var a = one.Quantiles(CardsKnown.ByPriors);
                var b = one.Quantiles(CardsKnown.Exactly);
                output.WriteLine($"{layout} {k} blur {blur:0.00} rms {one.CornerRms:0.000} sigma {plane.CornerSigmaPixels:0.000} uneven {plane.Adjustment.Unevenness:0.00} p95 {t.Quantile(.95):0.0000} gauss {g.Quantile(.95):0.0000} bound {a.P95:0.0000} flat {b.P95:0.0000} df {plane.Adjustment.Camera[0] - truth.Camera[0]:0.0} print {plane.PrintScale.Across - 1:0.00000} {plane.PrintScale.Down - 1:0.00000} lifts {string.Join(" ", plane.Adjustment.Cards.Keys.Select(c => plane.Adjustment.PlaceOf(c)).Select(p => $"{p[3]:0.000}/{p[4]:0.000}/{p[5]:0.000}"))}");
            }
            List<(string, string, string, bool)> rows = [];
            least.AddRows(rows, layout.ToString(), tally);
            foreach (var r in rows) output.WriteLine($"{r}");
            output.WriteLine($"{layout} gauss p95 {synth.Quantile(0.95):0.0000} p50 {synth.Quantile(0.5):0.0000}");
        }
    }

    private static ErrorTally Tally(CardTruth truth, CardsPlane plane)
    {
        ErrorTally tally = new();
        Similarity<ClothSpace, ClothSpace> lay = StatedError.Lay(truth, plane);
        (double left, double top, double w, double h) = truth.Area;
        for (int k = 0; k < 81; k++)
        {
            double x = left + w * (k / 9) / 8;
            double y = top + h * (k % 9) / 8;
            Point<PhotoSpace>? seen = truth.Project(0, x, y);
            if (!truth.Shows(seen)) continue;
            Point<ClothSpace> map = plane.Planes[0].ClothFromPhoto.Apply(seen!.Value);
            Vector<ClothSpace> off = lay.Apply(map) - new Point<ClothSpace>(x, y);
            tally.Add(lay.A * off.X + lay.B * off.Y, -lay.B * off.X + lay.A * off.Y, plane.CovarianceAt(0, map));
        }
        return tally;
    }
}
