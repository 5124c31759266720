using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Tests.Quilts.Mending;

/// <summary>Edits as a careless hand makes them, drawn from a seed.</summary>
internal sealed class RandomEdits(int seed)
{
    private readonly Random random = new(seed);

    /// <summary>A top of the library's blocks, some set with sashing.</summary>
    public QuiltMap Top()
    {
        BlockDraft draft = BlockLibrary.All[random.Next(BlockLibrary.All.Count)];
        double sash = random.Next(3) == 0 ? 1.5 : 0;
        return BlockDrafting.Draft(
            draft,
            Length.FromInches(random.Next(4, 13)),
            random.Next(1, 4),
            random.Next(1, 3),
            Length.FromInches(sash)
        );
    }

    /// <summary>An edit of any kind, with the box of what it may touch; the box is null where that may be anything.</summary>
    public (MapEdit Edit, Box<ClothSpace>? Touches) Draw(QuiltMap map)
    {
        switch (random.Next(16))
        {
            case 0 or 1 or 2 or 3:
            {
                Point<ClothSpace> from = random.Next(3) == 0 ? Place(map) : Pick(map.Junctions).Place;
                Point<ClothSpace> to = random.Next(2) switch
                {
                    0 => Pick(map.Junctions).Place,
                    _ => from + new Vector<ClothSpace>(Normal() * 3, Normal() * 3),
                };
                double bulge = random.Next(3) == 0 ? Normal() * 0.4 : 0;
                return (
                    new AddSeam(from, to, bulge),
                    new Edge<ClothSpace>(from, to, Math.Clamp(bulge, -2, 2)).Bounds()
                );
            }

            case 4
            or 5
            or 6:
            {
                Junction j = Pick(map.Junctions);
                double step = random.Next(3) == 0 ? 2 : 0.2;
                Point<ClothSpace> to = j.Place + new Vector<ClothSpace>(Normal() * step, Normal() * step);
                Box<ClothSpace> star = Box<ClothSpace>.Around(j.Place, to);
                foreach (Seam s in map.Seams.Where(s => s.From == j.Id || s.To == j.Id))
                {
                    star = star.With(map.EdgeOf(s).Bounds());
                }

                return (new MovePoint(new(j.Id), to), star.Grown(0.2));
            }

            case 7
            or 8
            or 9:
            {
                Seam s = Pick(map.Seams);
                return (new RemoveSeam(new(s.Id)), null);
            }

            case 10
            or 11:
            {
                Seam s = Pick(map.Seams);
                Box<ClothSpace> box = map.EdgeOf(s).Bounds();
                return random.Next(3) switch
                {
                    0 => (new BendSeam(new(s.Id), Normal() * 0.5), box),
                    1 => (new BendSeam(new(s.Id), 0), box),
                    _ => (
                        new BendSeam(new(s.Id), 0)
                        {
                            Through =
                                map.EdgeOf(s).PointAt(0.5) + new Vector<ClothSpace>(Normal() * 0.3, Normal() * 0.3),
                        },
                        box
                    ),
                };
            }

            case 12:
                return (
                    new LeavePatch(
                        random.Next(2) == 0 ? new(Pick(map.Patches).Id) : new(null, Place(map)),
                        random.Next(3) > 0
                    ),
                    null
                );
            case 13:
            {
                Seam s = Pick(map.Seams);
                Edge<ClothSpace> path = map.EdgeOf(s);
                LowSide side = (LowSide)random.Next(3);
                double t = random.NextDouble() / 2;
                return (
                    new SayDitch(new(s.Id), side)
                    {
                        Part = random.Next(2) == 0 ? null : (path.PointAt(t), path.PointAt(t + 0.4)),
                    },
                    path.Bounds()
                );
            }

            case 14:
            {
                Seam s = Pick(map.Seams);
                return (new SayEdge(new(s.Id), (EdgeKind)random.Next(3), (OutlineReach)random.Next(2)), null);
            }

            default:
                return (OfBlocks(map), null);
        }
    }

    private MapEdit OfBlocks(QuiltMap map)
    {
        string? pattern = random.Next(3) == 0 ? null : BlockLibrary.All[random.Next(BlockLibrary.All.Count)].Id;
        Point<ClothSpace> at = Place(map);
        double side = 2 + random.NextDouble() * 6;
        Point<ClothSpace>[] corners =
        [
            at,
            at + new Vector<ClothSpace>(side, Normal() * 0.05),
            at + new Vector<ClothSpace>(side, side),
            at + new Vector<ClothSpace>(Normal() * 0.05, side),
        ];
        if (map.Blocks.Count == 0 || random.Next(3) == 0)
        {
            return new AddBlock(corners)
            {
                Pattern = pattern,
                Turn = random.Next(4),
                Mirror = random.Next(2) == 0,
                Seams = (BlockSeams)random.Next(2),
            };
        }

        Block b = Pick(map.Blocks);
        return random.Next(4) switch
        {
            0 => new NameBlock(new(b.Id), pattern) { Turn = random.Next(4) },
            1 => new SetCorners(new(b.Id), corners),
            2 => new RemoveBlock(new(b.Id), (BlockSeams)random.Next(2)),
            _ => new CopyBlock(new(b.Id)),
        };
    }

    private Point<ClothSpace> Place(QuiltMap map) =>
        new(random.NextDouble() * map.Width.Inches, random.NextDouble() * map.Height.Inches);

    private T Pick<T>(IReadOnlyList<T> items) => items[random.Next(items.Count)];

    // Box and Muller, 1958.
    private double Normal() =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
