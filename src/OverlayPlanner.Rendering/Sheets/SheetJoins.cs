using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>
/// How sheets come together: in the band that two neighbours share stand a letter and two crosses, at one place of the cloth,
/// so at the same place on both.
/// </summary>
internal sealed class SheetJoins
{
    private const double LetterRadius = 8.5;
    private const double LetterSize = 12;
    private const double CrossArm = 9;

    private readonly List<Join> joins = [];

    private SheetJoins() { }

    /// <summary>Finds the places: free of lines where there are such.</summary>
    public static SheetJoins Plan(SheetPlan plan, QuiltMap quilt, RouteCandidate candidate)
    {
        // One space for the whole cloth, in points.
        Similarity<PageSpace, ClothSpace> whole = new(Length.PointsPerInch, 0, 0, 0);
        FigureContent content = FigureContent.Of(
            quilt,
            candidate,
            plan.Covered,
            e => [whole.Apply(e)],
            FigureContent.BacktrackOffset
        );
        LabelSpace space = new(new(double.MinValue, double.MinValue, double.MaxValue, double.MaxValue));
        foreach (Edge<PageSpace> e in content.Seams.Concat(content.Steps.SelectMany(s => s.Path)))
        {
            space.Add(e, 1.4);
        }

        SheetJoins found = new();
        foreach (Sheet sheet in plan.Sheets)
        {
            Sheet? right = plan.Sheets.FirstOrDefault(s => s.Row == sheet.Row && s.Column == sheet.Column + 1);
            if (right is not null)
            {
                found.Add(sheet, right, Shared(sheet, right), upright: true, plan.Covered, space);
            }

            Sheet? below = plan.Sheets.FirstOrDefault(s => s.Row == sheet.Row + 1 && s.Column == sheet.Column);
            if (below is not null)
            {
                found.Add(sheet, below, Shared(sheet, below), upright: false, plan.Covered, space);
            }
        }

        return found;
    }

    /// <summary>Letters of the edges where this sheet is cut and laid over its neighbour, left and top.</summary>
    public IReadOnlyList<string> CutEdgesOf(Sheet sheet) =>
        [.. joins.Where(j => j.Second == sheet).Select(j => j.Letter)];

    /// <summary>Room that the letters and crosses of a sheet take.</summary>
    public IEnumerable<Box<PageSpace>> BoxesOn(Sheet sheet) =>
        joins
            .Where(j => j.First == sheet || j.Second == sheet)
            .SelectMany(j =>
                j.Crosses.Select(c => Around(sheet.PageFromCloth.Apply(c), CrossArm + 1))
                    .Append(Around(sheet.PageFromCloth.Apply(j.LetterAt), LetterRadius + 1))
            );

    /// <summary>Letters, crosses and cutting lines of a sheet.</summary>
    public IEnumerable<DrawnItem> ItemsOn(Sheet sheet, Box<PageSpace> window)
    {
        foreach (Join join in joins.Where(j => j.First == sheet || j.Second == sheet))
        {
            foreach (Point<ClothSpace> c in join.Crosses)
            {
                yield return Marks.Cross(Layer.Rulers, sheet.PageFromCloth.Apply(c), CrossArm, Palette.Black, 0.5);
            }

            Point<PageSpace> at = sheet.PageFromCloth.Apply(join.LetterAt);
            yield return Marks.Ring(Layer.Rulers, at, LetterRadius, Palette.SoftInk, 0.7);
            foreach (
                Words words in Typesetting.SetCentered(
                    Layer.Rulers,
                    new(at.X, at.Y + Typeface.CapHeight * LetterSize / 2),
                    join.Letter,
                    LetterSize,
                    Weight.Bold,
                    Palette.SoftInk
                )
            )
            {
                yield return words;
            }

            // The later sheet is cut at its left or upper edge and laid over the earlier one.
            bool cut = join.Second == sheet;
            Edge<PageSpace> edge = join.Upright
                ? new(
                    new(cut ? window.Left : window.Right, window.Top),
                    new(cut ? window.Left : window.Right, window.Bottom)
                )
                : new(
                    new(window.Left, cut ? window.Top : window.Bottom),
                    new(window.Right, cut ? window.Top : window.Bottom)
                );
            yield return new Stroke(Layer.Rulers, [edge], Palette.SoftInk, cut ? 0.6 : 0.35, cut ? [5, 3] : [0.6, 3]);
        }
    }

    private static Box<ClothSpace> Shared(Sheet a, Sheet b) =>
        new(
            Math.Max(a.Cloth.Left, b.Cloth.Left),
            Math.Max(a.Cloth.Top, b.Cloth.Top),
            Math.Min(a.Cloth.Right, b.Cloth.Right),
            Math.Min(a.Cloth.Bottom, b.Cloth.Bottom)
        );

    private static Box<PageSpace> Around(Point<PageSpace> p, double half) =>
        new(p.X - half, p.Y - half, p.X + half, p.Y + half);

    private void Add(
        Sheet first,
        Sheet second,
        Box<ClothSpace> band,
        bool upright,
        Box<ClothSpace> covered,
        LabelSpace space
    )
    {
        // Along the band, but on the part that holds cloth, and clear of the bands that cross it.
        double from = Math.Max(upright ? band.Top : band.Left, upright ? covered.Top : covered.Left);
        double to = Math.Min(upright ? band.Bottom : band.Right, upright ? covered.Bottom : covered.Right);
        double middle = Eighth(upright ? band.Center.X : band.Center.Y);
        Point<ClothSpace> letter = Find((from + to) / 2, LetterRadius);
        Point<ClothSpace>[] crosses =
        [
            Find(from + (to - from) * 0.17, CrossArm),
            Find(from + (to - from) * 0.83, CrossArm),
        ];
        joins.Add(new(Letters(joins.Count), first, second, upright, letter, crosses));

        Point<ClothSpace> Find(double wanted, double half)
        {
            double reach = (to - from) * 0.32;
            for (double d = 0; d <= reach; d += 1.0 / 8)
            {
                foreach (double across in new[] { 0, 1.0 / 16, -1.0 / 16, 1.0 / 8, -1.0 / 8 })
                {
                    foreach (double along in new[] { wanted + d, wanted - d })
                    {
                        Point<ClothSpace> p = At(middle + across, Eighth(along));
                        Box<PageSpace> box = Around(new(p.X * Length.PointsPerInch, p.Y * Length.PointsPerInch), half);
                        if (space.IsFree(box, 1.5))
                        {
                            space.Add(box);
                            return p;
                        }
                    }
                }
            }

            Point<ClothSpace> anyway = At(middle, Eighth(wanted));
            space.Add(Around(new(anyway.X * Length.PointsPerInch, anyway.Y * Length.PointsPerInch), half));
            return anyway;
        }

        Point<ClothSpace> At(double across, double along) => upright ? new(across, along) : new(along, across);
    }

    private static double Eighth(double inches) => Math.Round(inches * 8) / 8;

    // A … Z, AA, AB …
    private static string Letters(int index) =>
        index < 26 ? ((char)('A' + index)).ToString() : Letters(index / 26 - 1) + (char)('A' + index % 26);

    private sealed record Join(
        string Letter,
        Sheet First,
        Sheet Second,
        bool Upright,
        Point<ClothSpace> LetterAt,
        IReadOnlyList<Point<ClothSpace>> Crosses
    );
}
