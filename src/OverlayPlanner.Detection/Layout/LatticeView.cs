using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>A line that the seams of a top lie on, across one direction.</summary>
/// <param name="At">Where it crosses that direction, inches.</param>
/// <param name="Length">Length of seams on it, inches.</param>
/// <param name="Cover">Part of its way over the map that has a seam.</param>
/// <param name="Density">Part of its way from its first to its last seam that has one: borders beside it do not count.</param>
internal readonly record struct SeamStop(double At, double Length, double Cover, double Density);

/// <summary>A map seen along one pair of directions, u and v, at right angles: which seams run along them, and where.</summary>
/// <remarks>
/// Seams along a direction are also kept as a picture with running sums, so that the covered part of any side of any block is
/// read in one step: O(seams + area) to make, O(1) to ask.
/// </remarks>
internal sealed class LatticeView
{
    /// <summary>A seam that is off a line by less runs on it: piecing wobble on both sides.</summary>
    public const double OnLineInches = 0.25;

    private const double Bin = 0.25;
    private const double SlantPerInch = 0.09;
    private const double SlantInches = 0.08;
    private const double LeastSeamInches = 0.4;
    private readonly Vector<ClothSpace> u;
    private readonly Vector<ClothSpace> v;
    private readonly Point<ClothSpace> middle;
    private readonly Box<ClothSpace> area;
    private readonly double reach;
    private readonly int[,] alongU;
    private readonly int[,] alongV;
    private readonly int[] alignedAt;

    /// <param name="map">The map.</param>
    /// <param name="angle">Direction of u, radians clockwise from the page's x.</param>
    public LatticeView(QuiltMap map, double angle)
    {
        Map = map;
        Angle = angle;
        u = new(Math.Cos(angle), Math.Sin(angle));
        v = new(-Math.Sin(angle), Math.Cos(angle));
        area = new(0, 0, map.Width.Inches, map.Height.Inches);
        middle = area.Center;
        reach = Math.Sqrt(area.Width * area.Width + area.Height * area.Height) / 2 + 2 * Bin;
        int n = (int)Math.Ceiling(2 * reach / Bin) + 2;
        alongU = new int[n, n + 1];
        alongV = new int[n, n + 1];
        alignedAt = new int[map.Junctions.Count];
        Dictionary<string, int> indexOf = [];
        for (int j = 0; j < map.Junctions.Count; j++)
        {
            indexOf[map.Junctions[j].Id] = j;
        }

        List<(double At, double Length, double Along)> us = [];
        List<(double At, double Length, double Along)> vs = [];
        foreach (Seam seam in map.Seams)
        {
            Edge<ClothSpace> e = map.EdgeOf(seam);
            if (!e.IsLine || seam.Edge == EdgeKind.Cut)
            {
                continue;
            }

            (double au, double av) = ToView(e.From);
            (double bu, double bv) = ToView(e.To);
            (double du, double dv) = (Math.Abs(bu - au), Math.Abs(bv - av));
            if (dv <= SlantPerInch * du + SlantInches && du >= LeastSeamInches)
            {
                Draw(alongU, au, av, bu, bv);
                vs.Add(((av + bv) / 2, du, (au + bu) / 2));
                alignedAt[indexOf[seam.From]]++;
                alignedAt[indexOf[seam.To]]++;
            }
            else if (du <= SlantPerInch * dv + SlantInches && dv >= LeastSeamInches)
            {
                Draw(alongV, av, au, bv, bu);
                us.Add(((au + bu) / 2, dv, (av + bv) / 2));
                alignedAt[indexOf[seam.From]]++;
                alignedAt[indexOf[seam.To]]++;
            }
        }

        Sum(alongU);
        Sum(alongV);
        UStops = StopsOf(us, (at) => Chord(at, acrossU: true));
        VStops = StopsOf(vs, (at) => Chord(at, acrossU: false));
        Point<ClothSpace>[] corners =
        [
            new(area.Left, area.Top),
            new(area.Right, area.Top),
            new(area.Right, area.Bottom),
            new(area.Left, area.Bottom),
        ];
        URange = (corners.Min(c => ToView(c).U), corners.Max(c => ToView(c).U));
        VRange = (corners.Min(c => ToView(c).V), corners.Max(c => ToView(c).V));
    }

    /// <summary>The map.</summary>
    public QuiltMap Map { get; }

    /// <summary>Direction of u, radians clockwise from the page's x.</summary>
    public double Angle { get; }

    /// <summary>True where blocks that lie along u and v stand on their points.</summary>
    public bool IsOnPoint => Angle > Math.PI / 8;

    /// <summary>Where u crosses lines that run along v, in order.</summary>
    public IReadOnlyList<SeamStop> UStops { get; }

    /// <summary>Where v crosses lines that run along u, in order.</summary>
    public IReadOnlyList<SeamStop> VStops { get; }

    /// <summary>From where to where the map reaches along u.</summary>
    public (double From, double To) URange { get; }

    /// <summary>From where to where the map reaches along v.</summary>
    public (double From, double To) VRange { get; }

    /// <summary>Directions, from −22.5° to 67.5°, along which much of the seams' length runs, the most first.</summary>
    public static IReadOnlyList<double> DirectionsOf(QuiltMap map)
    {
        const int Bins = 180;
        const double LeastPart = 0.06;
        const double Apart = 6;
        List<(double Degrees, double Length)> seams = [];
        double[] at = new double[Bins];
        foreach (Seam s in map.Seams)
        {
            Edge<ClothSpace> e = map.EdgeOf(s);
            if (!e.IsLine || e.Length < LeastSeamInches)
            {
                continue;
            }

            double degrees = Mod(Math.Atan2(e.To.Y - e.From.Y, e.To.X - e.From.X) * 180 / Math.PI, 90);

            // Short pieces turn with the wobble of their ends.
            double weight = e.Length * Math.Min(1, e.Length / 3);
            seams.Add((degrees, weight));
            at[(int)(degrees * Bins / 90) % Bins] += weight;
        }

        double all = seams.Sum(s => s.Length);
        List<double> found = [];
        while (found.Count < 4)
        {
            (double best, int bin) = (0, -1);
            for (int i = 0; i < Bins; i++)
            {
                double here = 0;
                for (int k = -4; k <= 4; k++)
                {
                    here += at[(i + k + Bins) % Bins] * (5 - Math.Abs(k)) / 5;
                }

                double binMiddle = (i + 0.5) * 90 / Bins;
                if (here > best && found.TrueForAll(f => Math.Abs(Off(binMiddle, f)) >= Apart))
                {
                    (best, bin) = (here, i);
                }
            }

            if (bin < 0 || best < LeastPart * all)
            {
                break;
            }

            double degrees = (bin + 0.5) * 90 / Bins;
            for (int round = 0; round < 3; round++)
            {
                double width = round == 0 ? 3 : 1.5;
                double sum = 0;
                double weight = 0;
                foreach ((double d, double length) in seams)
                {
                    double off = Off(d, degrees);
                    if (Math.Abs(off) <= width)
                    {
                        sum += length * off;
                        weight += length;
                    }
                }

                degrees += weight > 0 ? sum / weight : 0;
            }

            found.Add(degrees);
        }

        return [.. found.Select(d => (Mod(Sharpest(map, d) + 22.5, 90) - 22.5) * Math.PI / 180)];

        static double Mod(double a, double m) => a - Math.Floor(a / m) * m;
        static double Off(double a, double b) => Mod(a - b + 45, 90) - 45;
    }

    // The direction in which the seams gather on the fewest lines: short seams turn with the wobble of their ends, but the
    // places of many on one line do not.
    private static double Sharpest(QuiltMap map, double degrees)
    {
        const double Fine = 0.15;
        const double MostOff = 12;
        List<(Point<ClothSpace> Middle, double Length, bool Along)> seams = [];
        (double cos, double sin) = (Math.Cos(degrees * Math.PI / 180), Math.Sin(degrees * Math.PI / 180));
        foreach (Seam s in map.Seams)
        {
            Edge<ClothSpace> e = map.EdgeOf(s);
            Vector<ClothSpace> d = e.To - e.From;
            if (!e.IsLine || d.Norm < LeastSeamInches)
            {
                continue;
            }

            double turned = Math.Atan2(d.Y * cos - d.X * sin, d.X * cos + d.Y * sin) * 180 / Math.PI;
            double off = Math.Abs(turned - Math.Round(turned / 90) * 90);
            if (off <= MostOff)
            {
                seams.Add((e.PointAt(0.5), d.Norm, Math.Abs(Math.Round(turned / 90)) % 2 == 0));
            }
        }

        double extent = map.Width.Inches + map.Height.Inches;
        double[] across = new double[(int)(2 * extent / Fine) + 4];
        double[] down = new double[across.Length];
        double best = degrees;
        foreach ((double range, double step) in new[] { (2.0, 0.25), (0.2, 0.05) })
        {
            (double most, double about) = (-1, best);
            for (double d = about - range; d <= about + range + 1e-9; d += step)
            {
                Array.Clear(across);
                Array.Clear(down);
                (double s, double c) = Math.SinCos(d * Math.PI / 180);
                foreach ((Point<ClothSpace> p, double length, bool along) in seams)
                {
                    double at = ((along ? p.Y * c - p.X * s : p.X * c + p.Y * s) + extent) / Fine;
                    int bin = (int)at;
                    double part = at - bin;
                    double[] profile = along ? down : across;
                    profile[bin] += length * (1 - part);
                    profile[bin + 1] += length * part;
                }

                // What was measured from the pieces' own directions is kept where nothing speaks against it.
                double sharp = (across.Sum(x => x * x) + down.Sum(x => x * x)) * (1 - 0.002 * Math.Abs(d - degrees));
                if (sharp > most)
                {
                    (most, best) = (sharp, d);
                }
            }
        }

        return best;
    }

    /// <summary>The place in this view.</summary>
    public (double U, double V) ToView(Point<ClothSpace> p)
    {
        Vector<ClothSpace> d = p - middle;
        return (d.Dot(u), d.Dot(v));
    }

    /// <summary>The place on the cloth.</summary>
    public Point<ClothSpace> ToCloth(double atU, double atV) => middle + u * atU + v * atV;

    /// <summary>Covered part of the line along u from (u0, v) to (u1, v).</summary>
    public double CoverAlongU(double atV, double u0, double u1) => Cover(alongU, atV, u0, u1);

    /// <summary>Covered part of the line along v from (u, v0) to (u, v1).</summary>
    public double CoverAlongV(double atU, double v0, double v1) => Cover(alongV, atU, v0, v1);

    /// <summary>How many seams at a junction, by its index, run along u or v.</summary>
    public int AlignedAt(int junction) => alignedAt[junction];

    /// <summary>True where the seam runs along u or v.</summary>
    public bool RunsAlong(Edge<ClothSpace> e)
    {
        (double au, double av) = ToView(e.From);
        (double bu, double bv) = ToView(e.To);
        (double du, double dv) = (Math.Abs(bu - au), Math.Abs(bv - av));
        return e.IsLine && (dv <= SlantPerInch * du + SlantInches || du <= SlantPerInch * dv + SlantInches);
    }

    private int BinOf(double at) => Math.Clamp((int)((at + reach) / Bin), 0, alongU.GetLength(0) - 1);

    // First index across the line, second along it.
    private void Draw(int[,] picture, double a, double acrossA, double b, double acrossB)
    {
        (double from, double fromAt, double to, double toAt) =
            a < b ? (a, acrossA, b, acrossB) : (b, acrossB, a, acrossA);
        for (int k = BinOf(from); k <= BinOf(to); k++)
        {
            double at = (k + 0.5) * Bin - reach;

            // A bin belongs to the seam that covers its middle.
            if (at < from || at > to)
            {
                continue;
            }

            double across = fromAt + (toAt - fromAt) * (at - from) / (to - from);
            int first = BinOf(across - OnLineInches);
            int last = BinOf(across + OnLineInches);
            for (int c = first; c <= last; c++)
            {
                picture[c, k] = 1;
            }
        }
    }

    private static void Sum(int[,] picture)
    {
        for (int c = 0; c < picture.GetLength(0); c++)
        {
            int sum = 0;
            for (int k = 0; k < picture.GetLength(1); k++)
            {
                int here = picture[c, k];
                picture[c, k] = sum;
                sum += here;
            }
        }
    }

    private double Cover(int[,] picture, double across, double from, double to)
    {
        int line = BinOf(across);
        int a = BinOf(from + Bin / 2);
        int b = Math.Max(a + 1, BinOf(to + Bin / 2));
        return (double)(picture[line, b] - picture[line, a]) / (b - a);
    }

    // How far the map reaches along the line that crosses u (or v) there.
    private double Chord(double at, bool acrossU)
    {
        Vector<ClothSpace> along = acrossU ? v : u;
        Point<ClothSpace> p = acrossU ? ToCloth(at, 0) : ToCloth(0, at);
        (double t0, double t1) = (-reach * 2, reach * 2);
        foreach (
            (double step, double room) in new[]
            {
                (-along.X, p.X - area.Left),
                (along.X, area.Right - p.X),
                (-along.Y, p.Y - area.Top),
                (along.Y, area.Bottom - p.Y),
            }
        )
        {
            if (Math.Abs(step) < 1e-9)
            {
                if (room < -OnLineInches)
                {
                    return 0;
                }
            }
            else if (step < 0)
            {
                t0 = Math.Max(t0, room / step);
            }
            else
            {
                t1 = Math.Min(t1, room / step);
            }
        }

        return Math.Max(0, t1 - t0);
    }

    // From the first to the last seam but for a twentieth at both ends, where a false one may lie far off.
    private static double DensityOf(List<(double Along, double Length)> on, double length)
    {
        const double Spare = 0.05;
        on.Sort();
        (double from, double to, double sum) = (double.NaN, double.NaN, 0);
        foreach ((double along, double l) in on)
        {
            sum += l;
            if (double.IsNaN(from) && sum > Spare * length)
            {
                from = along - l / 2;
            }

            if (double.IsNaN(to) && sum >= (1 - Spare) * length)
            {
                to = along + l / 2;
            }
        }

        return Math.Min(1, length / Math.Max(1, to - from));
    }

    // The strongest line first, then what it leaves.
    private static List<SeamStop> StopsOf(
        List<(double At, double Length, double Along)> pieces,
        Func<double, double> chordAt
    )
    {
        const double Fine = 0.1;
        const double LeastPart = 0.06;
        const double TooNear = 0.45;
        const double LeastOfLongest = 0.2;
        List<SeamStop> stops = [];
        if (pieces.Count == 0)
        {
            return stops;
        }

        pieces.Sort();
        double start = pieces[0].At - 1;
        int bins = (int)((pieces[^1].At - start) / Fine) + 12;
        double[] profile = new double[bins];
        foreach ((double at, double length, _) in pieces)
        {
            profile[(int)((at - start) / Fine)] += length;
        }

        double strongest = 0;
        while (true)
        {
            (double best, int bin) = (0, -1);
            for (int i = 2; i + 2 < bins; i++)
            {
                double here =
                    profile[i] + 0.67 * (profile[i - 1] + profile[i + 1]) + 0.33 * (profile[i - 2] + profile[i + 2]);
                if (here > best)
                {
                    (best, bin) = (here, i);
                }
            }

            strongest = Math.Max(strongest, best);
            if (bin < 0 || best < LeastPart * strongest)
            {
                break;
            }

            double peak = start + (bin + 0.5) * Fine;
            double length = 0;
            double moment = 0;
            List<(double Along, double Length)> on = [];
            foreach ((double at, double l, double along) in pieces)
            {
                if (Math.Abs(at - peak) <= OnLineInches)
                {
                    length += l;
                    moment += l * at;
                    on.Add((along, l));
                }
            }

            for (int i = Math.Max(0, bin - 2); i <= Math.Min(bins - 1, bin + 2); i++)
            {
                profile[i] = 0;
            }

            double mean = length > 0 ? moment / length : peak;

            // A weak line hard by a strong one is what wandered off it.
            if (length > 0 && !stops.Exists(s => Math.Abs(s.At - mean) < TooNear && s.Length > 2 * length))
            {
                stops.Add(new(mean, length, 0, DensityOf(on, length)));
            }
        }

        // The chord of a corner is short: what covers it there covers little.
        double longest = stops.Max(s => chordAt(s.At));
        double most = stops.Max(s => s.Length);
        return
        [
            .. stops
                .Select(s =>
                    s with
                    {
                        Cover = Math.Min(1, s.Length / Math.Max(chordAt(s.At), 0.25 * longest)),
                        Density = s.Density * Math.Min(1, s.Length / (LeastOfLongest * most)),
                    }
                )
                .OrderBy(s => s.At),
        ];
    }
}
