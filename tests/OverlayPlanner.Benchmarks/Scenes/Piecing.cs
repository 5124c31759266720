using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>A cloth of the quilt, and how a patch was cut from it.</summary>
internal readonly record struct Cut(int Fabric, double ShiftX, double ShiftY, double Turn);

/// <summary>Sews a draft: the piecing error, the low sides, and which cloth each patch is cut from.</summary>
internal static class Piecing
{
    /// <summary>The map with its points moved as piecing moves them, and a low side for each seam that is not pressed open.</summary>
    /// <remarks>
    /// A point where a seam ends on a straight one stays on that one. Points on the outline slide along it; its corners stay.
    /// </remarks>
    public static QuiltMap Sew(QuiltMap draft, SceneWishes wishes, Dice dice)
    {
        double shortest = draft.Seams.Min(s => draft.EdgeOf(s).Chord);
        double reach = Math.Min(Math.Min(wishes.WobbleInches, 0.125), 0.08 * shortest);
        PlaneGraph<ClothSpace> graph = draft.ToPlaneGraph();
        double w = draft.Width.Inches;
        double h = draft.Height.Inches;
        Point<ClothSpace>[] at = [.. draft.Junctions.Select(j => j.Place)];
        (int A, int B)?[] through = new (int, int)?[at.Length];
        for (int v = 0; v < at.Length; v++)
        {
            Point<ClothSpace> p = at[v];
            bool onSide = p.X == 0 || p.X == w;
            bool onTop = p.Y == 0 || p.Y == h;
            if (!onSide && !onTop)
            {
                through[v] = StraightThrough(graph, v);
            }

            double dx = dice.Between(-reach, reach);
            double dy = dice.Between(-reach, reach);
            at[v] = new(onSide ? p.X : p.X + dx, onTop ? p.Y : p.Y + dy);
        }

        // Points that ride on a seam whose own ends ride on others settle in a few rounds.
        for (int round = 0; round < 40; round++)
        {
            for (int v = 0; v < at.Length; v++)
            {
                if (through[v] is { } ends)
                {
                    Edge<ClothSpace> line = new(at[ends.A], at[ends.B]);
                    at[v] = line.PointAt(line.Nearest(at[v]).T);
                }
            }
        }

        List<Junction> junctions = [];
        Dictionary<Point<ClothSpace>, Point<ClothSpace>> moved = [];
        for (int v = 0; v < at.Length; v++)
        {
            moved[draft.Junctions[v].Place] = at[v];
            junctions.Add(draft.Junctions[v] with { At = Estimate<Point<ClothSpace>>.Exact(at[v]) });
        }

        List<Seam> seams = [];
        foreach (Seam s in draft.Seams)
        {
            Side? low =
                s.Role == SeamRole.Edge || dice.Chance(wishes.PressedOpenShare) ? null
                : dice.Chance(0.5) ? Side.Left
                : Side.Right;
            seams.Add(s with { Ditch = low });
        }

        // A block's corners are points of the map; without sashing they move with them.
        Block[] blocks =
        [
            .. draft.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(c => NearestMoved(c))] }),
        ];
        return draft.With(junctions: junctions, seams: seams, blocks: blocks);

        Point<ClothSpace> NearestMoved(Point<ClothSpace> c) => moved[moved.Keys.MinBy(k => k.DistanceTo(c))];
    }

    /// <summary>Cuts every patch; the last cloth is the border's.</summary>
    public static (Cut[] Cuts, FabricTile[] Fabrics, int BorderFabric) CutPatches(
        QuiltMap draft,
        SceneWishes wishes,
        Dice dice,
        int tileSide,
        double tilePixelsPerInch
    )
    {
        bool heldOut = wishes.Pool == ScenePool.HeldOut;
        Palette[] palettes = heldOut ? Palette.HeldOut : Palette.All;
        Palette palette = palettes[
            wishes.PaletteIndex
                // Between black and black no photograph shows a seam; the dark palette is the last of each list.
                ?? dice.Below(palettes.Length - (wishes.SameFabricShare > 0 ? 1 : 0))
        ];
        Dictionary<string, (BlockDraft Draft, int[] Classes)> kinds = [];
        List<(PrintFamily Family, Rgb Main, ulong Seed)> wanted = [];
        Dictionary<(int Block, int Class), int> fabricOf = [];
        Dice share = dice.Branch(3);
        Dictionary<int, int> borrowed = [];
        Cut[] cuts = new Cut[draft.Patches.Count];
        Dictionary<string, int> blockOfPatch = [];
        for (int b = 0; b < draft.Blocks.Count; b++)
        {
            foreach (string id in draft.Blocks[b].Patches)
            {
                blockOfPatch[id] = b;
            }
        }

        for (int i = 0; i < cuts.Length; i++)
        {
            Patch patch = draft.Patches[i];
            Point<ClothSpace> inside = PatchFinder.InteriorPoint(draft, patch);
            (int block, int cls) = (-1, 1000);
            int b = blockOfPatch.GetValueOrDefault(patch.Id, -1);
            if (b >= 0 && draft.Blocks[b].Pattern is { } pattern)
            {
                if (!kinds.TryGetValue(pattern, out (BlockDraft Draft, int[] Classes) kind))
                {
                    BlockDraft d =
                        wishes.Foreign is { } foreign && foreign.Id == pattern ? foreign : BlockLibrary.Find(pattern);
                    kinds[pattern] = kind = (d, BlockColouring.ClassesOf(d));
                }

                Block owner = draft.Blocks[b];
                (double u, double v) = InDraft(owner, inside);
                int at = Enumerable
                    .Range(0, kind.Draft.Patches.Count)
                    .FirstOrDefault(k => BlockColouring.Holds(kind.Draft.Patches[k], u, v));
                (block, cls) = (b, kind.Classes[at]);
                if (cls > 0 && wishes.SameFabricShare > 0)
                {
                    cls = Borrowed(cls, kind.Classes.Max());
                }
            }
            else
            {
                cls = PartClass(draft, patch, b, inside);
            }

            bool own = wishes.Scrappy && cls is > 0 and < 1000;
            (int, int) key = (own ? block : -1, cls);
            if (!fabricOf.TryGetValue(key, out int fabric))
            {
                fabricOf[key] = fabric = wanted.Count;
                FabricMix mix = cls is 0 or 1000 or 1004 ? wishes.Ground ?? wishes.Fabrics : wishes.Fabrics;
                wanted.Add(Choose(palette, cls, mix, wishes.Pool, dice));
            }

            Dice cut = dice.Branch(1000 + i);
            cuts[i] = new(
                fabric,
                cut.Between(0, 50),
                cut.Between(0, 50),
                cut.Below(4) * Math.PI / 2 + cut.Normal() * 0.02
            );
        }

        FabricMix border = wishes.Fabrics == FabricMix.Solids ? FabricMix.Solids : FabricMix.Quiet;
        wanted.Add(Choose(palette, 1, border, wishes.Pool, dice));
        FabricTile[] tiles = new FabricTile[wanted.Count];
        Rgb[] others = [.. palette.Accents, .. palette.Features];
        Parallel.For(
            0,
            tiles.Length,
            k =>
                tiles[k] = Prints.Make(
                    wanted[k].Family,
                    wanted[k].Main,
                    others,
                    wanted[k].Seed,
                    tileSide,
                    tilePixelsPerInch
                )
        );
        return (cuts, tiles, tiles.Length - 1);

        // Two cloths at least stay in the quilt: with only one kind of figure, single patches are cut from the ground instead.
        int Borrowed(int cls, int last)
        {
            if (last == 1)
            {
                return share.Chance(wishes.SameFabricShare / 2) ? 0 : 1;
            }

            if (!borrowed.TryGetValue(cls, out int lender))
            {
                bool lends = cls != last && share.Chance(wishes.SameFabricShare);
                borrowed[cls] = lender = lends ? 0 : cls;
            }

            return lender;
        }
    }

    public static string Hex(Rgb c) =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"#{(int)(c.R + 0.5f):x2}{(int)(c.G + 0.5f):x2}{(int)(c.B + 0.5f):x2}"
        );

    // What a patch of no pieced block is cut from: sashing 1000, cornerstones 1001, borders 1002 and 1003, plain squares and
    // setting triangles 1004.
    private static int PartClass(QuiltMap draft, Patch patch, int block, Point<ClothSpace> inside)
    {
        if (block >= 0 && draft.Blocks[block].Patches.Contains(patch.Id))
        {
            return 1004;
        }

        switch (SettingPartField.PartOf(patch))
        {
            case SettingPart.Sash:
                return 1000;
            case SettingPart.Cornerstone:
                return 1001;
            case SettingPart.SettingTriangle or SettingPart.CornerTriangle:
                return 1004;
            case SettingPart.Border:
                // Pieces of a pieced border lie in turn; a plain border is one long piece on each side.
                Box<ClothSpace> strip = Box<ClothSpace>.Around(
                    PatchFinder.RingOf(draft, patch.Seams).Select(e => e.From)
                );
                bool isLong = Math.Max(strip.Width, strip.Height) > 6 * Math.Min(strip.Width, strip.Height);
                int turn = (int)Math.Floor((inside.X + inside.Y) / Math.Min(strip.Width, strip.Height));
                return isLong || (turn & 1) == 0 ? 1002 : 1003;
            default:
                // Sashing is long, a cornerstone is square.
                IReadOnlyList<Edge<ClothSpace>> ring = PatchFinder.RingOf(draft, patch.Seams);
                Box<ClothSpace> box = Box<ClothSpace>.Around(ring.Select(e => e.From));
                return Math.Abs(box.Width - box.Height) < 0.01 ? 1001 : 1000;
        }
    }

    // Where a cloth point lies in the block's draft, in block sides: the block may stand on point, turned and mirrored.
    private static (double U, double V) InDraft(Block block, Point<ClothSpace> p)
    {
        Vector<ClothSpace> across = block.Corners[1] - block.Corners[0];
        Vector<ClothSpace> down = block.Corners[3] - block.Corners[0];
        Vector<ClothSpace> at = p - block.Corners[0];
        double u = at.Dot(across) / across.Dot(across);
        double v = at.Dot(down) / down.Dot(down);
        for (int i = 0; i < block.Turn; i++)
        {
            (u, v) = (v, 1 - u);
        }

        return (block.Mirror ? 1 - u : u, v);
    }

    private static (PrintFamily Family, Rgb Main, ulong Seed) Choose(
        Palette palette,
        int cls,
        FabricMix mix,
        ScenePool pool,
        Dice dice
    )
    {
        Rgb main = cls switch
        {
            0 or 1000 or 1004 => dice.Pick(palette.Grounds),
            1001 or 1003 => dice.Pick(palette.Accents),
            1 or 1002 => dice.Pick(palette.Features[..2]),
            2 => dice.Pick(palette.Features[2..]),
            3 => dice.Pick(palette.Accents),
            _ => dice.Pick(dice.Chance(0.5) ? palette.Features : palette.Accents),
        };
        IReadOnlyList<PrintFamily> families = PrintCatalog.Of(mix, cls is 0 or 1000 or 1004, pool);
        return (dice.Pick(families), main.Near(dice, 8), dice.Next());
    }

    // The neighbours along the one straight line through a point where exactly three seams meet.
    private static (int A, int B)? StraightThrough(PlaneGraph<ClothSpace> graph, int v)
    {
        IReadOnlyList<int> around = graph.Around(v);
        if (around.Count != 3)
        {
            return null;
        }

        for (int i = 0; i < 3; i++)
        {
            for (int j = i + 1; j < 3; j++)
            {
                Edge<ClothSpace> a = graph.Along(around[i]);
                Edge<ClothSpace> b = graph.Along(around[j]);
                if (a.IsLine && b.IsLine && a.StartDirection.Dot(b.StartDirection) < -1 + 1e-9)
                {
                    return (graph.NodeOf(around[i] ^ 1), graph.NodeOf(around[j] ^ 1));
                }
            }
        }

        return null;
    }
}
