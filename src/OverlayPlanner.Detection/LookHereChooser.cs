using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Detection;

/// <summary>Chooses the places of a map that a person should look at first.</summary>
public static class LookHereChooser
{
    /// <summary>Most places; more are not looked at in one go.</summary>
    public const int MostPlaces = 24;

    /// <summary>A seam below this confidence is doubtful.</summary>
    public const double SureFrom = 0.8;

    // A line that is less likely a seam than this is print, and would hide the doubtful seams among its like.
    private const double LeastMissing = 0.25;

    // Sides of a crop, in: a seam needs cloth round it to be judged.
    private const double LeastSide = 2.4;
    private const double MostSide = 5.5;
    private const double Around = 0.6;

    // A point is worth a look where it is known much worse than the others and worse than a seam's own width.
    private const double BadSigmaInches = 0.06;
    private const double TimesMedian = 3;

    /// <summary>The places, worst first; neighbours share one.</summary>
    /// <param name="map">The map.</param>
    /// <param name="missing">Lines that may be seams and are not in it, with how likely each is one.</param>
    public static LookHere Choose(QuiltMap map, IReadOnlyList<SeamLine>? missing = null)
    {
        ArgumentNullException.ThrowIfNull(map);
        List<Item> items =
        [
            .. map
                .Seams.Where(s => s.Role != SeamRole.Edge && s.Confidence < SureFrom)
                .Select(s => new Item(map.EdgeOf(s), 1 - s.Confidence) { Seam = s.Id }),
            .. (missing ?? [])
                .Where(l => l.Confidence >= LeastMissing)
                .Select(l => new Item(l.Path, l.Confidence) { Missing = l }),
        ];
        double[] sigmas = [.. map.Junctions.Select(j => j.At.Sigma.Inches).Order()];
        double bad = sigmas.Length == 0 ? 0 : Math.Max(BadSigmaInches, TimesMedian * sigmas[sigmas.Length / 2]);
        items.AddRange(
            map.Junctions.Where(j => j.At.Sigma.Inches > bad)
                .Select(j => new Item(new(j.Place, j.Place), Math.Min(0.5, j.At.Sigma.Inches)) { Point = j.Id })
        );
        items.Sort((a, b) => b.Doubt.CompareTo(a.Doubt));
        List<Group> groups = [];
        int more = 0;
        foreach (Item item in items)
        {
            Box<ClothSpace> area = AreaOf(item.Path);
            Group? near = groups.Find(g => Fits(g.Area.With(area)) && g.Area.Holds(item.Middle));
            if (near is not null)
            {
                near.Area = Square(near.Area.With(area));
                near.Items.Add(item);
            }
            else if (groups.Count < MostPlaces)
            {
                groups.Add(new(area, item));
            }
            else if (item.Point is null)
            {
                more++;
            }
        }

        return new([.. groups.Select(g => g.ToPlace())], more, SureFrom);
    }

    private static bool Fits(Box<ClothSpace> box) => Math.Max(box.Width, box.Height) <= MostSide;

    private static Box<ClothSpace> AreaOf(Edge<ClothSpace> path)
    {
        Box<ClothSpace> box = path.Bounds().Grown(Around);
        if (Fits(box))
        {
            return Square(box);
        }

        // Of a long seam its middle is shown.
        Point<ClothSpace> m = path.PointAt(0.5);
        return Box<ClothSpace>.Around(m, m).Grown(MostSide / 2);
    }

    private static Box<ClothSpace> Square(Box<ClothSpace> box)
    {
        double half = Math.Max(Math.Max(box.Width, box.Height), LeastSide) / 2;
        return Box<ClothSpace>.Around(box.Center, box.Center).Grown(half);
    }

    private sealed record Item(Edge<ClothSpace> Path, double Doubt)
    {
        public string? Seam { get; init; }

        public SeamLine? Missing { get; init; }

        public string? Point { get; init; }

        public Point<ClothSpace> Middle => Path.From == Path.To ? Path.From : Path.PointAt(0.5);
    }

    private sealed class Group(Box<ClothSpace> area, Item first)
    {
        public Box<ClothSpace> Area { get; set; } = area;

        public List<Item> Items { get; } = [first];

        public LookPlace ToPlace() =>
            new(
                Area,
                [.. Items.Where(i => i.Seam is not null).Select(i => i.Seam!)],
                [.. Items.Where(i => i.Missing is not null).Select(i => i.Missing!)],
                [.. Items.Where(i => i.Point is not null).Select(i => i.Point!)],
                Items.Max(i => i.Doubt)
            );
    }
}
