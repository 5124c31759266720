using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>
/// What lies on patches that are to be left alone: motifs stitched down, and printed pictures. Neither has seams of its own.
/// </summary>
internal sealed class LaidOn
{
    private const double LeastReach = 0.7;
    private const double MostReach = 3;

    private readonly Motif?[] motifs;
    private readonly bool[] leave;

    private LaidOn(int patches)
    {
        motifs = new Motif?[patches];
        leave = new bool[patches];
    }

    /// <summary>The motif on a patch, or null.</summary>
    public Motif? MotifOf(int patch) => motifs[patch];

    /// <summary>True for a patch to be left alone.</summary>
    public bool Leaves(int patch) => leave[patch];

    /// <summary>
    /// Chooses the patches with the most room: pictures first, then motifs. Cuts the pictures' patches anew and adds the cloth.
    /// </summary>
    public static LaidOn Choose(
        QuiltMap truth,
        SceneWishes wishes,
        Cut[] cuts,
        ref FabricTile[] fabrics,
        int side,
        double ppi,
        Dice dice
    )
    {
        LaidOn laid = new(truth.Patches.Count);
        if (wishes.Appliques + wishes.Panels == 0)
        {
            return laid;
        }

        (int Patch, Point<ClothSpace> Middle, double Reach)[] room =
        [
            .. truth
                .Patches.Select((p, i) => RoomOf(truth, p, i))
                .Where(r => r.Reach >= LeastReach)
                .OrderByDescending(r => Math.Round(r.Reach, 1))
                .ThenBy(r => r.Patch),
        ];
        List<FabricTile> tiles = [.. fabrics];
        Palette[] palettes = wishes.Pool == ScenePool.HeldOut ? Palette.HeldOut : Palette.All;
        Palette palette = palettes[dice.Below(palettes.Length - 1)];
        for (int k = 0; k < wishes.Panels; k++)
        {
            // A picture is no strip.
            const double MostAspect = 1.9;
            int found = Array.FindIndex(
                room,
                r => !laid.leave[r.Patch] && BoxOf(r.Patch) is var b && Math.Max(b.Width / b.Height, b.Height / b.Width) < MostAspect
            );
            if (found < 0)
            {
                break;
            }

            int patch = room[found].Patch;
            Box<ClothSpace> box = BoxOf(patch);
            double pixels = Math.Min(ppi, (side - 2) / Math.Max(box.Width, box.Height));
            tiles.Add(
                Prints.MakePanel(
                    dice.Pick(palette.Grounds),
                    [.. palette.Features, .. palette.Accents],
                    dice.Next(),
                    side,
                    pixels,
                    box.Width,
                    box.Height
                )
            );
            cuts[patch] = new(tiles.Count - 1, -box.Left, -box.Top, 0);
            laid.leave[patch] = true;
        }

        (int Patch, Point<ClothSpace> Middle, double Reach)[] left = [.. room.Where(r => !laid.leave[r.Patch])];
        for (int at = 0; at < Math.Min(wishes.Appliques, left.Length); at++)
        {
            Rgb under = tiles[cuts[left[at].Patch].Fabric].Mean;
            Rgb over = palette
                .Features.Concat(palette.Accents)
                .OrderByDescending(c => Math.Abs(c.Luma - under.Luma) + 40 * dice.Unit())
                .First();
            IReadOnlyList<PrintFamily> kinds = PrintCatalog.Of(FabricMix.Quiet, ground: false, wishes.Pool);
            tiles.Add(Prints.Make(dice.Pick(kinds), over, palette.Accents, dice.Next(), side, ppi));
            double reach = Math.Min(left[at].Reach * 0.85, MostReach);
            laid.motifs[left[at].Patch] = Motif.Draw(left[at].Middle, reach, tiles.Count - 1, dice.Branch(at));
            laid.leave[left[at].Patch] = true;
        }

        fabrics = [.. tiles];
        return laid;

        Box<ClothSpace> BoxOf(int patch) =>
            Box<ClothSpace>.Around(PatchFinder.RingOf(truth, truth.Patches[patch].Seams).Select(e => e.From));
    }

    // The widest circle in the patch, by looking closer and closer round the best place.
    private static (int Patch, Point<ClothSpace> Middle, double Reach) RoomOf(QuiltMap truth, Patch patch, int index)
    {
        IReadOnlyList<Edge<ClothSpace>> ring = PatchFinder.RingOf(truth, patch.Seams);
        Point<ClothSpace> best = PatchFinder.InteriorPoint(truth, patch);
        Box<ClothSpace> box = Box<ClothSpace>.Around(ring.SelectMany(e => e.Flatten(0.05)));
        double reach = ring.Min(e => e.Nearest(best).Distance);
        NetTopologySuite.Geometries.Polygon polygon = PatchFinder.ToPolygon(truth, patch, 0.02);
        double step = Math.Max(box.Width, box.Height) / 8;
        for (int round = 0; round < 5; round++, step /= 2)
        {
            Point<ClothSpace> middle = best;
            int wide = round == 0 ? 4 : 2;
            for (int j = -wide; j <= wide; j++)
            {
                for (int i = -wide; i <= wide; i++)
                {
                    Point<ClothSpace> p = new(middle.X + i * step, middle.Y + j * step);
                    double d = ring.Min(e => e.Nearest(p).Distance);
                    if (d > reach && polygon.Covers(new NetTopologySuite.Geometries.Point(p.X, p.Y)))
                    {
                        (best, reach) = (p, d);
                    }
                }
            }
        }

        return (index, best, reach);
    }
}

/// <summary>A shape of cloth laid on.</summary>
internal sealed class Motif
{
    private const double PerInch = 40;
    private readonly double left;
    private readonly double top;
    private readonly int size;
    private readonly float[] into;

    private Motif(double left, double top, int size, float[] into, int fabric)
    {
        (this.left, this.top, this.size, this.into) = (left, top, size, into);
        Fabric = fabric;
    }

    /// <summary>Its cloth.</summary>
    public int Fabric { get; }

    /// <summary>A bloom, a heart, a leaf, a disc or a letter-like shape within a circle.</summary>
    public static Motif Draw(Point<ClothSpace> middle, double reach, int fabric, Dice dice)
    {
        int kind = dice.Below(5);
        double turn = kind is 1 or 4 ? 0 : dice.Between(0, 6.28);
        int petals = 5 + dice.Below(4);
        const int Corners = 120;
        (double X, double Y)[] ring = new (double, double)[Corners];
        for (int i = 0; i < Corners; i++)
        {
            double t = 2 * Math.PI * i / Corners;
            (double s, double c) = Math.SinCos(t);
            (double x, double y) = kind switch
            {
                0 => Polar(t, 0.78 + 0.22 * Math.Cos(petals * t)),
                // The usual heart curve, brought to a unit circle.
                1 => (
                    16 * s * s * s / 19,
                    -(13 * c - 5 * Math.Cos(2 * t) - 2 * Math.Cos(3 * t) - Math.Cos(4 * t)) / 19 - 0.1
                ),
                2 => (c, 0.42 * s * (1 - 0.35 * c)),
                3 => (c, s),
                _ => Polar(t, 0.62 / Math.Max(Math.Max(Math.Abs(c) * 0.72, Math.Abs(s) * 0.62), 0.35 + 0.2 * Math.Abs(c))),
            };
            (double st, double ct) = Math.SinCos(turn);
            ring[i] = (reach * (ct * x - st * y), reach * (st * x + ct * y));
        }

        int size = (int)(2.3 * reach * PerInch) + 3;
        float[] into = new float[size * size];
        double corner = -1.15 * reach;
        Parallel.For(
            0,
            size,
            j =>
            {
                for (int i = 0; i < size; i++)
                {
                    into[j * size + i] = (float)Inside(ring, corner + i / PerInch, corner + j / PerInch);
                }
            }
        );
        return new(middle.X + corner, middle.Y + corner, size, into, fabric);

        static (double, double) Polar(double t, double r) => (r * Math.Cos(t), r * Math.Sin(t));
    }

    /// <summary>Inches into the shape; negative outside.</summary>
    public double Into(double x, double y)
    {
        double px = (x - left) * PerInch;
        double py = (y - top) * PerInch;
        if (px < 0 || py < 0 || px >= size - 1 || py >= size - 1)
        {
            return -9;
        }

        (int x0, int y0) = ((int)px, (int)py);
        (double fx, double fy) = (px - x0, py - y0);
        int i = y0 * size + x0;
        return (into[i] * (1 - fx) + into[i + 1] * fx) * (1 - fy)
            + (into[i + size] * (1 - fx) + into[i + size + 1] * fx) * fy;
    }

    private static double Inside((double X, double Y)[] ring, double x, double y)
    {
        bool inside = false;
        double least = double.MaxValue;
        for (int i = 0, j = ring.Length - 1; i < ring.Length; j = i++)
        {
            (double ax, double ay) = ring[i];
            (double bx, double by) = ring[j];
            if (ay > y != by > y && x < (bx - ax) * (y - ay) / (by - ay) + ax)
            {
                inside = !inside;
            }

            (double ux, double uy) = (bx - ax, by - ay);
            double t = Math.Clamp(((x - ax) * ux + (y - ay) * uy) / Math.Max(ux * ux + uy * uy, 1e-12), 0, 1);
            (double dx, double dy) = (x - ax - t * ux, y - ay - t * uy);
            least = Math.Min(least, dx * dx + dy * dy);
        }

        return inside ? Math.Sqrt(least) : -Math.Sqrt(least);
    }
}
