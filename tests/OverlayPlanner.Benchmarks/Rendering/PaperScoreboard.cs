using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Practice;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;
using UglyToad.PdfPig;
using UglyToad.PdfPig.Core;

namespace OverlayPlanner.Benchmarks.Rendering;

/// <summary>Paper and pens in numbers: what outside readers measure on the pages, what tape and printers do to them, how far pens travel.</summary>
internal static class PaperScoreboard
{
    private const double PointsPerMm = 72 / 25.4;

    /// <summary>Runs all.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run()
    {
        yield return Squares();
        foreach ((string, string, string, bool) row in FormatAgreement.Measure(Plan("lemoyne-star", 12)))
        {
            yield return row;
        }

        yield return Printer();
        foreach (bool crosses in new[] { true, false })
        {
            yield return Tape(crosses);
        }

        yield return FortyPages();
        yield return PenDowns();
        yield return Travel();
        foreach ((string, string, string, bool) row in Readers())
        {
            yield return row;
        }
    }

    // PdfPig finds the check square: the only closed figure of four sides that are an inch long.
    private static (string, string, string, bool) Squares()
    {
        Route route = Plan("shoofly", 12);
        double worst = 0;
        int found = 0;
        foreach (string paper in new[] { "letter", "legal", "tabloid", "a4", "a3" })
        {
            byte[] pdf = TraceSheets
                .Render(route, route.Candidates[0], new SheetWishes { Paper = PaperSize.Parse(paper) })
                .Bytes;
            using PdfDocument document = PdfDocument.Open(pdf);
            foreach (UglyToad.PdfPig.Content.Page page in document.GetPages())
            {
                PdfRectangle[] squares =
                [
                    .. page
                        .Paths.Select(p => p.GetBoundingRectangle())
                        .OfType<PdfRectangle>()
                        .Where(b => Math.Abs(b.Width - 72) < 0.5 && Math.Abs(b.Height - 72) < 0.5),
                ];
                found += Math.Min(1, squares.Length);
                worst = squares
                    .SelectMany(b => new[] { Math.Abs(b.Width - 72), Math.Abs(b.Height - 72) })
                    .Append(worst)
                    .Max();
            }
        }

        return (
            Text($"check square read by PdfPig, worst side of {found} pages"),
            Text($"{worst / PointsPerMm:0.0000} mm off"),
            "≤ 0.01 mm",
            found > 0 && worst / PointsPerMm <= 0.01
        );
    }

    // A printer that makes 6 x 9 in of ruler 3 % short and 1.5 % long; each ruler is read to 1/32 in.
    private static (string, string, string, bool) Printer()
    {
        (double across, double down) = (0.97, 1.015);
        double worst = 0;
        for (int i = 0; i <= 100; i++)
        {
            double width = 5.5 + i / 100.0;
            double height = 8.5 + i / 100.0;
            PrinterScale typed = PrinterScale.FromMeasured(
                (Length.FromInches(Read(width * across)), Length.FromInches(Read(height * down))),
                (Length.FromInches(width), Length.FromInches(height))
            );
            worst = Math.Max(worst, Math.Abs(across / typed.Across - 1));
            worst = Math.Max(worst, Math.Abs(down / typed.Down - 1));
        }

        // Half of 1/32 in on the shortest ruler, 5 1/2 in, and 0.1 %.
        double allowed = 0.001 + 1.0 / 64 / (5.5 * across);
        return (
            "printer at -3 % and +1.5 %, corrected by rulers of 5 1/2 to 9 1/2 in read to 1/32 in, worst",
            Text($"{100 * worst:0.00} %"),
            Text($"≤ {100 * allowed:0.00} %"),
            worst <= allowed
        );

        static double Read(double inches) => Math.Round(inches * 32) / 32;
    }

    // Sixteen sheets, each laid down up to 1/32 in wrong both ways. Without crosses each is laid to its neighbours, so errors
    // add up; with absolute crosses each is laid to the top's own marks.
    private static (string, string, string, bool) Tape(bool crosses)
    {
        const int Sheets = 4;
        const int Trials = 20_000;
        const double Error = 1.0 / 32;
        Random dice = new(11);
        double[] drift = new double[Trials];
        for (int t = 0; t < Trials; t++)
        {
            (double X, double Y)[,] at = new (double, double)[Sheets, Sheets];
            for (int r = 0; r < Sheets; r++)
            {
                for (int c = 0; c < Sheets; c++)
                {
                    (double x, double y) own = (Slip(), Slip());
                    (double x, double y) on =
                        crosses || (r == 0 && c == 0) ? (0, 0)
                        : r == 0 ? at[r, c - 1]
                        : c == 0 ? at[r - 1, c]
                        : ((at[r, c - 1].X + at[r - 1, c].X) / 2, (at[r, c - 1].Y + at[r - 1, c].Y) / 2);
                    at[r, c] = (on.x + own.x, on.y + own.y);
                }
            }

            (double X, double Y) far = at[Sheets - 1, Sheets - 1];
            drift[t] = Math.Sqrt(far.X * far.X + far.Y * far.Y);
        }

        Array.Sort(drift);
        double p95 = drift[(int)(0.95 * Trials)];
        return (
            crosses
                ? "4 x 4 sheets taped within 1/32 in by absolute crosses, drift of the last, P95"
                : "the same taped neighbour to neighbour",
            Text($"{p95:0.000} in"),
            crosses ? "≤ 0.0625 in" : "-",
            !crosses || p95 <= 1.0 / 16
        );

        double Slip() => (2 * dice.NextDouble() - 1) * Error;
    }

    private static (string, string, string, bool) FortyPages()
    {
        List<Drawing> pages = [];
        Random dice = new(5);
        for (int p = 0; p < 40; p++)
        {
            Drawing page = new(612, 792);
            for (int i = 0; i < 2_000; i++)
            {
                Point<PageSpace> a = new(36 + dice.NextDouble() * 540, 36 + dice.NextDouble() * 700);
                Point<PageSpace> b =
                    a + new Vector<PageSpace>(dice.NextDouble() * 40 - 20, dice.NextDouble() * 40 - 20);
                page.Add(new Stroke(Layer.Route, [new(a, b, dice.NextDouble() - 0.5)], Palette.Ink, 1.4));
            }

            pages.Add(page);
        }

        PdfFormat.Write([pages[0]], "warm", CancellationToken.None);
        GC.Collect();
        long before = GC.GetTotalMemory(forceFullCollection: true);
        long peak = before;
        using Timer watcher = new(_ => peak = Math.Max(peak, GC.GetTotalMemory(false)), null, 0, 5);
        Stopwatch watch = Stopwatch.StartNew();
        byte[] pdf = PdfFormat.Write(pages, "forty", CancellationToken.None);
        double seconds = watch.Elapsed.TotalSeconds;
        peak = Math.Max(peak, GC.GetTotalMemory(false));
        double megabytes = (peak - before) / 1e6;
        return (
            Text($"PDF of 40 pages with 2,000 arcs each ({pdf.Length / 1e6:0.0} MB)"),
            Text($"{seconds:0.00} s, {megabytes:0} MB held"),
            "< 1 s, < 300 MB",
            seconds < 1 && megabytes < 300
        );
    }

    // Counted in the HP-GL itself, against what the lines allow: for each connected part half its odd points, one at least (Euler
    // 1736; Listing 1847).
    private static (string, string, string, bool) PenDowns()
    {
        int downs = 0;
        int least = 0;
        int blocks = 0;
        foreach (BlockDraft draft in BlockLibrary.All)
        {
            Route route = RoutePlanner
                .Plan(
                    BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero),
                    new RouteWishes { Lines = LineChoice.SeamsAndArcs, Candidates = 1 }
                )
                .Route;
            RouteCandidate first = route.Candidates[0];
            if (first.Measures.Doubled.Inches > 1e-6)
            {
                continue;
            }

            string hpgl = System.Text.Encoding.ASCII.GetString(
                PlotterFile.Render(route, first, PlotterFormat.Hpgl, PlotterMarks.None).Bytes
            );
            blocks++;
            downs += System.Text.RegularExpressions.Regex.Count(hpgl, @"PU\d+,\d+;\s*PD");
            least += LeastPaths([.. first.AllMoves.Select(m => m.Path)]);
        }

        return (
            Text($"pen-downs in the plotter files of {blocks} blocks, nothing twice; the Euler minimum"),
            Text($"{downs}; {least}"),
            "equal",
            downs == least
        );
    }

    private static int LeastPaths(IReadOnlyList<Edge<ClothSpace>> lines)
    {
        Dictionary<(long, long), int> degree = [];
        Dictionary<(long, long), (long, long)> parent = [];
        foreach (Edge<ClothSpace> e in lines)
        {
            (long, long) a = Key(e.From);
            (long, long) b = Key(e.To);
            degree[a] = degree.GetValueOrDefault(a) + 1;
            degree[b] = degree.GetValueOrDefault(b) + 1;
            parent[Root(a)] = Root(b);
        }

        return degree.GroupBy(d => Root(d.Key), d => d.Value % 2).Sum(part => Math.Max(1, part.Sum() / 2));

        static (long, long) Key(Point<ClothSpace> p) => ((long)Math.Round(p.X * 1e5), (long)Math.Round(p.Y * 1e5));

        (long, long) Root((long, long) p)
        {
            while (parent.TryGetValue(p, out (long, long) up) && up != p)
            {
                p = up;
            }

            return p;
        }
    }

    private static (string, string, string, bool) Travel()
    {
        Random dice = new(3);
        (Point<PageSpace> From, Point<PageSpace> To)[] paths =
        [
            .. Enumerable
                .Range(0, 5_000)
                .Select(_ =>
                {
                    Point<PageSpace> a = new(dice.NextDouble() * 4_000, dice.NextDouble() * 4_000);
                    return (a, a + new Vector<PageSpace>(dice.NextDouble() * 60 - 30, dice.NextDouble() * 60 - 30));
                }),
        ];
        Point<PageSpace> home = new(0, 0);
        PenTravel.Order(paths[..200], home, PenOrder.AnyWay);
        double greedy = PenTravel.Length(paths, home, PenTravel.Greedy(paths, home, mayTurn: true));
        Stopwatch watch = Stopwatch.StartNew();
        IReadOnlyList<(int, bool)> order = PenTravel.Order(paths, home, PenOrder.AnyWay);
        double seconds = watch.Elapsed.TotalSeconds;
        double saved = 1 - PenTravel.Length(paths, home, order) / greedy;
        return (
            "pen-up travel of 5,000 paths against nearest next with turning",
            Text($"{100 * saved:0.0} % less, {seconds:0.00} s"),
            "≥ 15 % less, < 2 s",
            saved >= 0.15 && seconds < 2
        );
    }

    private static IEnumerable<(string, string, string, bool)> Readers()
    {
        Route route = Plan("bears-paw", 12);
        RouteCandidate first = route.Candidates[0];
        string folder = Directory.CreateTempSubdirectory("overlayplanner-paper-").FullName;
        string[] files =
        [
            Keep("sheets.pdf", TraceSheets.Render(route, first, new SheetWishes()).Bytes),
            Keep("card.pdf", StitchCard.Render(route, first, new CardWishes()).Bytes),
            Keep(
                "class.pdf",
                PracticePages.Render(route, first, new PracticeWishes { Kind = PracticeKind.ClassPack }).Bytes
            ),
        ];
        foreach (
            (string program, string[] arguments, Func<int, string, int> count) in new (
                string,
                string[],
                Func<int, string, int>
            )[]
            {
                ("qpdf", ["--check"], (status, said) => status == 0 ? 0 : Math.Max(1, Lines(said, "WARNING"))),
                (
                    "gs",
                    ["-dNOPAUSE", "-dBATCH", "-sDEVICE=nullpage", "-dPDFSTOPONWARNING"],
                    (status, said) => status == 0 ? Lines(said, "Warning") : 1
                ),
                ("pdffonts", [], (status, said) => status == 0 ? NotEmbedded(said) : 1),
            }
        )
        {
            int warnings = 0;
            bool there = true;
            foreach (string file in files)
            {
                if (Ask(program, [.. arguments, file]) is { } answer)
                {
                    warnings += count(answer.Status, answer.Said);
                }
                else
                {
                    there = false;
                }
            }

            yield return (
                Text(
                    $"{program}: {(program == "pdffonts" ? "fonts not embedded" : "warnings")} in sheets, card, class pack"
                ),
                there ? Text($"{warnings}") : "not installed here",
                "0",
                there && warnings == 0
            );
        }

        Directory.Delete(folder, recursive: true);

        string Keep(string name, byte[] bytes)
        {
            string path = Path.Combine(folder, name);
            File.WriteAllBytes(path, bytes);
            return path;
        }

        static int Lines(string said, string word) =>
            said.Split('\n').Count(l => l.Contains(word, StringComparison.OrdinalIgnoreCase));

        // Two lines of heading; then "emb" is the first of the three yes-or-no columns.
        static int NotEmbedded(string said) =>
            said.Split('\n', StringSplitOptions.RemoveEmptyEntries)
                .Skip(2)
                .Count(l =>
                    l.Split(' ', StringSplitOptions.RemoveEmptyEntries).FirstOrDefault(w => w is "yes" or "no") != "yes"
                );
    }

    private static (int Status, string Said)? Ask(string program, string[] arguments)
    {
        ProcessStartInfo info = new(program)
        {
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        foreach (string a in arguments)
        {
            info.ArgumentList.Add(a);
        }

        try
        {
            using Process process = Process.Start(info)!;
            Task<string> error = process.StandardError.ReadToEndAsync();
            string said = process.StandardOutput.ReadToEnd() + error.Result;
            process.WaitForExit();
            return (process.ExitCode, said);
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return null;
        }
    }

    private static Route Plan(string block, double inches) =>
        RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(inches), 1, 1, Length.Zero),
                new RouteWishes { Lines = LineChoice.SeamsAndArcs, Candidates = 2 }
            )
            .Route;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
