using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>A map after one edit.</summary>
/// <param name="Map">The map: a plane graph still.</param>
/// <param name="Edit">The edit with what was left open filled in: ids, places, ways; fit to be kept and made again.</param>
/// <param name="Findings">What a person should know: <c>seam-dangles</c> where a new seam ends inside a patch.</param>
public sealed record MendedMap(QuiltMap Map, MapEdit Edit, IReadOnlyList<Finding> Findings);

/// <summary>Carries out one correction of a map by hand.</summary>
/// <remarks>
/// What an edit does not touch keeps its id, its record and its place in the lists. A split keeps the old id with .1, .2 and so
/// on; new things get ids that nothing had before. Patches are found again round the change alone, and those that stay keep id,
/// colour and whether they are left alone. O(map) in cheap steps, exact geometry only near the change.
/// </remarks>
public static class Mender
{
    /// <summary>Largest bulge of a seam drawn by hand: an arc of about 250 degrees.</summary>
    public const double MostBulge = 2;

    /// <summary>What is said where a seam to add is there already.</summary>
    internal const string AlreadyThere = "A seam lies there already";

    /// <summary>Carries the edit out on a map that <see cref="MapCheck"/> has inspected; the result passes it unchanged.</summary>
    /// <exception cref="InputException">
    /// What it names is not there, a number is out of range, or the map would no longer be a plane graph; says where.
    /// </exception>
    public static MendedMap Apply(QuiltMap map, MapEdit edit)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(edit);
        EditLimits.Require(edit, map.Width, map.Height);
        return edit switch
        {
            AddSeam add => Add(map, add),
            MovePoint move => Move(map, move),
            RemoveSeam remove => Remove(map, remove),
            BendSeam bend => Bend(map, bend),
            SureSeam sure => Sure(map, sure),
            LeavePatch leave => Leave(map, leave),
            SayDitch ditch => SeamSayings.SayDitch(map, ditch),
            SayEdge edge => SeamSayings.SayEdge(map, edge),
            NameBlock name => BlockMending.Name(map, name),
            SetCorners corners => BlockMending.SetCorners(map, corners),
            AddBlock block => BlockMending.Add(map, block),
            RemoveBlock block => BlockMending.Remove(map, block),
            CopyBlock copy => BlockCopies.Copy(map, copy),
            TeachBlock teach => throw new InputException(
                "A block can be taught only where the picture is looked at",
                $"teach {teach.Block}",
                "Map the photograph with this file of edits, or copy the block (\"do\": \"copy\"), which goes by corners alone."
            ),
            _ => throw new ArgumentOutOfRangeException(nameof(edit)),
        };
    }

    /// <summary>The other blocks of a block's kind and size, which <see cref="CopyBlock"/> changes; in the map's order.</summary>
    /// <param name="map">The map.</param>
    /// <param name="block">One of its blocks.</param>
    public static IReadOnlyList<Block> CopiesOf(QuiltMap map, Block block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        return BlockCopies.Of(map, block);
    }

    private static MendedMap Add(QuiltMap map, AddSeam add)
    {
        LooseMap loose = new(map);
        SeamOrigin origin = new(add.Seam, map.Seams.Count);
        int laid = SeamInsertion.Lay(loose, origin, new(add.From, add.To, add.Bulge), add.Snap.Inches);
        if (laid == 0)
        {
            throw PlaneGuard.Refuse(
                add.From.DistanceTo(add.To) <= 2 * add.Snap.Inches
                    ? "The seam is too short: its ends are drawn to one point"
                    : AlreadyThere,
                add.From.Toward(add.To, 0.5),
                "Give two places farther apart, or a smaller snap."
            );
        }

        PlaneGuard.Require(loose);
        QuiltMap mended = LooseMapAssembly.Assemble(
            loose,
            map.Blocks,
            out IReadOnlyDictionary<SeamOrigin, string> names
        );
        return new(mended, add with { Seam = names[origin] }, [.. MendingFindings.Dangling(mended, loose)]);
    }

    private static MendedMap Move(QuiltMap map, MovePoint move)
    {
        Junction point = Spots.Point(map, move.Point);
        LooseMap loose = new(map);
        PointMove.Move(loose, loose.Of(point), move.To);
        PlaneGuard.Require(loose);
        return new(
            LooseMapAssembly.Assemble(loose, map.Blocks),
            move with
            {
                Point = new(point.Id, move.Point.At ?? point.Place),
            },
            []
        );
    }

    private static MendedMap Remove(QuiltMap map, RemoveSeam remove)
    {
        Seam seam = Spots.Seam(map, remove.Seam);
        Point<ClothSpace> middle = map.EdgeOf(seam).PointAt(0.5);
        if (seam.Role == SeamRole.Edge)
        {
            throw PlaneGuard.Refuse(
                $"Seam {seam.Id} is part of the outline and can't be removed",
                middle,
                "Say what the outline is there: seam, raw or cut."
            );
        }

        LooseMap loose = new(map);
        SeamRemoval.Remove(loose, [loose.Of(seam)]);
        PlaneGuard.Require(loose);
        return new(
            LooseMapAssembly.Assemble(loose, map.Blocks),
            remove with
            {
                Seam = new(seam.Id, remove.Seam.At ?? middle),
            },
            []
        );
    }

    private static MendedMap Bend(QuiltMap map, BendSeam bend)
    {
        Seam seam = Spots.Seam(map, bend.Seam);
        Edge<ClothSpace> path = map.EdgeOf(seam);
        if (seam.Role == SeamRole.Edge)
        {
            throw PlaneGuard.Refuse(
                $"Seam {seam.Id} is part of the outline, whose sides are straight",
                path.PointAt(0.5),
                "Draw a seam inside instead."
            );
        }

        if (bend.Through is { } on && Math.Min(on.DistanceTo(path.From), on.DistanceTo(path.To)) < 0.01)
        {
            throw PlaneGuard.Refuse(
                "An arc can't run through the end of its seam",
                on,
                "Give a place beside its middle."
            );
        }

        double bulge = bend.Through is { } through
            ? SeamRemoval.BulgeThrough(path.From, through, path.To)
            : Spots.Along(path, bend.Along) * bend.Bulge;
        if (!(Math.Abs(bulge) <= MostBulge))
        {
            throw PlaneGuard.Refuse(
                "The arc would be more than three quarters of a circle",
                path.PointAt(0.5),
                "Give a place nearer to the seam, or two seams with a point between them."
            );
        }

        LooseMap loose = new(map);
        LooseSeam bent = loose.Of(seam);
        loose.Touch(bent);
        bent.Bulge = bulge;
        bent.IsReshaped = true;
        bent.Template = bent.Template with { Role = BlockSides.RoleOf(map.Blocks, bent.Path) };
        PointMove.RequireNoFlip(loose, loose.Dirty.ToHashSet(), path.PointAt(0.5));
        PlaneGuard.Require(loose);
        return new(
            LooseMapAssembly.Assemble(loose, map.Blocks),
            bend with
            {
                Seam = new(seam.Id, bend.Seam.At ?? path.PointAt(0.5)),
                Bulge = bulge,
                Through = null,
                Along = path.To - path.From,
            },
            []
        );
    }

    private static MendedMap Sure(QuiltMap map, SureSeam sure)
    {
        Seam seam = Spots.Seam(map, sure.Seam);
        return new(
            map.With(seams: [.. map.Seams.Select(s => s == seam ? s with { Confidence = 1 } : s)]),
            sure with
            {
                Seam = new(seam.Id, sure.Seam.At ?? map.EdgeOf(seam).PointAt(0.5)),
            },
            []
        );
    }

    private static MendedMap Leave(QuiltMap map, LeavePatch leave)
    {
        Patch patch = Spots.Patch(map, leave.Patch);
        return new(
            map.With(patches: [.. map.Patches.Select(p => p == patch ? p with { Leave = leave.Alone } : p)]),
            leave with
            {
                Patch = new(patch.Id, leave.Patch.At ?? PatchFinder.InteriorPoint(map, patch)),
            },
            []
        );
    }
}
