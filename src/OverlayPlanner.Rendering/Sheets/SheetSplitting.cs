using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>Where the strip with the check square and the words lies.</summary>
internal enum StripPlace
{
    Bottom,
    Right,
}

/// <summary>How a page is shared out, points: margin, rulers, the window of cloth, the strip.</summary>
internal sealed record PageLayout(PaperSize Paper, Box<PageSpace> Window, Box<PageSpace> Strip, StripPlace Place)
{
    /// <summary>The paper lies a quarter turn from how its size is given.</summary>
    public bool Turned { get; init; }

    /// <summary>The upper ruler has room of its own, outside the window.</summary>
    public bool RulerAbove { get; init; }

    /// <summary>The left ruler has room of its own, outside the window.</summary>
    public bool RulerLeft { get; init; }
}

/// <summary>Splits a rectangle of cloth over sheets: fewest sheets, paper seams beside the points where seams meet.</summary>
internal static class SheetSplitting
{
    /// <summary>Printers leave this blank on every side, inches (handbook 8.1: a safe minimum).</summary>
    public const double MarginInches = 0.25;

    /// <summary>Neighbouring sheets share this, inches (handbook 8.1).</summary>
    public const double OverlapInches = 0.5;

    /// <summary>More sheets than this are refused.</summary>
    public const int MostSheets = 500;

    /// <summary>Room for a ruler outside the window, inches.</summary>
    public const double RulerInches = 0.28;

    /// <summary>Width of the strip: the check square and a little air, inches.</summary>
    public const double StripInches = 1.2;

    private const double Step = 1.0 / 8;

    /// <summary>
    /// Sheets for one axis: the least n with n windows of this size, overlapping by <see cref="OverlapInches"/>, at least as
    /// long as the cloth.
    /// </summary>
    public static int Count(double clothInches, double windowInches) =>
        Math.Max(1, (int)Math.Ceiling((clothInches - OverlapInches) / (windowInches - OverlapInches) - 1e-9));

    /// <summary>The best turn of the paper, place of the strip and split.</summary>
    /// <exception cref="InputException">The paper is smaller than its furniture, or too many sheets are needed.</exception>
    public static (SheetPlan Plan, PageLayout Layout) Split(
        Box<ClothSpace> covered,
        QuiltMap quilt,
        SheetWishes wishes,
        Func<StripPlace, double, double> stripNeeds
    )
    {
        (PageLayout Layout, int Columns, int Rows, double Price)? best = null;
        foreach (PageLayout layout in Layouts(wishes, stripNeeds))
        {
            int columns = Count(covered.Width, layout.Window.Width / Length.PointsPerInch);
            int rows = Count(covered.Height, layout.Window.Height / Length.PointsPerInch);

            // Among equals: upright, rulers outside, the strip below.
            double price =
                (double)columns * rows
                + (layout.Turned ? 0.4 : 0)
                + (layout.RulerAbove ? 0 : 0.1)
                + (layout.RulerLeft ? 0 : 0.1)
                + (layout.Place == StripPlace.Bottom ? 0 : 0.15);
            if (best is null || price < best.Value.Price)
            {
                best = (layout, columns, rows, price);
            }
        }

        if (best is not { } chosen)
        {
            throw new InputException(
                $"{wishes.Paper.Name} paper is too small for a check square, rulers and a piece of cloth",
                "--paper",
                "Choose a paper of at least 4 x 5 in."
            );
        }

        if ((long)chosen.Columns * chosen.Rows > MostSheets)
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"The route is {RouteNames.SizeOf(covered)} and would need {(long)chosen.Columns * chosen.Rows} sheets of {wishes.Paper.Name}; the most is {MostSheets}"
                ),
                "--paper",
                "Plan one block with --block, or choose a larger paper."
            );
        }

        double[] lefts = Starts(
            covered.Left,
            covered.Right,
            chosen.Layout.Window.Width / Length.PointsPerInch,
            chosen.Columns,
            [.. quilt.Junctions.Where(j => covered.Grown(1e-6).Holds(j.Place)).Select(j => j.Place.X)]
        );
        double[] tops = Starts(
            covered.Top,
            covered.Bottom,
            chosen.Layout.Window.Height / Length.PointsPerInch,
            chosen.Rows,
            [.. quilt.Junctions.Where(j => covered.Grown(1e-6).Holds(j.Place)).Select(j => j.Place.Y)]
        );
        List<Sheet> sheets = [];
        Box<PageSpace> window = chosen.Layout.Window;
        for (int row = 0; row < chosen.Rows; row++)
        {
            for (int column = 0; column < chosen.Columns; column++)
            {
                (double x, double y) = (lefts[column], tops[row]);
                sheets.Add(
                    new(
                        row,
                        column,
                        new(x, y, x + window.Width / Length.PointsPerInch, y + window.Height / Length.PointsPerInch),
                        new(
                            Length.PointsPerInch,
                            0,
                            window.Left - x * Length.PointsPerInch,
                            window.Top - y * Length.PointsPerInch
                        )
                    )
                );
            }
        }

        return (new(chosen.Layout.Paper, chosen.Rows, chosen.Columns, covered, sheets), chosen.Layout);
    }

    private static IEnumerable<PageLayout> Layouts(SheetWishes wishes, Func<StripPlace, double, double> stripNeeds)
    {
        PaperSize[] papers = wishes.Turn switch
        {
            PaperTurn.AsGiven => [wishes.Paper],
            PaperTurn.Turned => [wishes.Paper.Turned],
            _ => [wishes.Paper, wishes.Paper.Turned],
        };
        double margin = MarginInches * Length.PointsPerInch;
        foreach (PaperSize given in papers)
        {
            // Laid out in true inches on the paper as this printer fills it; the page is stretched back when it is written.
            PaperSize paper = wishes.Printer is { } p
                ? given with
                {
                    Width = given.Width * p.Across,
                    Height = given.Height * p.Down,
                }
                : given;
            Box<PageSpace> print = new(margin, margin, paper.Width.Points - margin, paper.Height.Points - margin);
            foreach (StripPlace place in new[] { StripPlace.Bottom, StripPlace.Right })
            {
                double along = place == StripPlace.Bottom ? print.Width : print.Height;
                double needed = stripNeeds(place, along);
                if (double.IsPositiveInfinity(needed))
                {
                    continue;
                }

                double strip = Math.Max(StripInches * Length.PointsPerInch, needed);
                Box<PageSpace> rest =
                    place == StripPlace.Bottom
                        ? print with
                        {
                            Bottom = print.Bottom - strip,
                        }
                        : print with
                        {
                            Right = print.Right - strip,
                        };
                Box<PageSpace> stripBox =
                    place == StripPlace.Bottom ? print with { Top = rest.Bottom } : print with { Left = rest.Right };
                foreach (bool above in new[] { true, false })
                {
                    foreach (bool left in new[] { true, false })
                    {
                        Box<PageSpace> window = rest with
                        {
                            Top = rest.Top + (above ? RulerInches * Length.PointsPerInch : 0),
                            Left = rest.Left + (left ? RulerInches * Length.PointsPerInch : 0),
                        };

                        // A window must at least hold its two overlaps and something between.
                        if (Math.Min(window.Width, window.Height) >= 3 * OverlapInches * Length.PointsPerInch)
                        {
                            yield return new(paper, window, stripBox, place)
                            {
                                RulerAbove = above,
                                RulerLeft = left,
                                Turned = given.Width != wishes.Paper.Width,
                            };
                        }
                    }
                }
            }
        }
    }

    // Where each window begins along one axis. Windows begin on eighths, so that crosses and rulers do; the whole grid is
    // moved where it costs nothing, so that as few points as possible lie in a paper seam.
    private static double[] Starts(double from, double to, double window, int count, double[] points)
    {
        double pitch = Math.Floor((window - OverlapInches) / Step + 1e-9) * Step;
        if ((count - 1) * pitch + window < to - from - 1e-9)
        {
            pitch = window - OverlapInches;
        }

        double last = from;
        double first = to - (count - 1) * pitch - window;
        double centered = (first + last) / 2;
        double best = centered;
        double least = double.PositiveInfinity;
        for (double s = Math.Ceiling(first / Step - 1e-9) * Step; s <= last + 1e-9; s += Step)
        {
            double score = Math.Abs(s - centered) * 0.2;
            for (int k = 1; k < count; k++)
            {
                double seam = s + k * pitch + OverlapInches / 2;
                score += points.Count(p => Math.Abs(p - seam) <= OverlapInches / 2 + 0.05);
            }

            if (score < least)
            {
                (best, least) = (s, score);
            }
        }

        return [.. Enumerable.Range(0, count).Select(k => best + k * pitch)];
    }
}
