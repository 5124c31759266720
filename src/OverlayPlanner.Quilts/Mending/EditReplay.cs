using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>A map after a list of edits.</summary>
/// <param name="Map">The map.</param>
/// <param name="Edits">
/// The edits that were carried out, with ids, places and ways filled in. Those that found nothing are among them as they were
/// given, so that they are not lost where the file is written again.
/// </param>
/// <param name="Findings">
/// <c>edit-not-needed</c> for a seam to add that is there already, <c>edit-lost</c> for an edit whose object was not found, <c>edit-refused</c> for one that the map does not allow, and what the
/// edits themselves found.
/// </param>
/// <param name="NewSeamIds">The ids that seams have now, by those that they had before the edits, where an edit's id was given to them.</param>
public sealed record ReplayedMap(
    QuiltMap Map,
    IReadOnlyList<MapEdit> Edits,
    IReadOnlyList<Finding> Findings,
    IReadOnlyDictionary<string, string> NewSeamIds
);

/// <summary>
/// Carries out a list of edits on a map that may have been made anew: each object is found by its place, and the id that the
/// edit knows it by is given to it.
/// </summary>
/// <remarks>
/// The nearest of its kind within 3/8 in of the place is taken: the point, the seam that runs there, the patch or the block that
/// holds the place; the one that has the id already where it lies about as near. Where something else has the id, the two swap.
/// </remarks>
public sealed class EditReplay
{
    private readonly List<MapEdit> done = [];
    private readonly List<Finding> findings = [];
    private readonly Dictionary<string, string> newSeamIds = [];
    private readonly HashSet<(Kind Kind, string Id)> claimed = [];
    private readonly string name;
    private QuiltMap map;

    private EditReplay(QuiltMap map, string name)
    {
        this.map = map;
        this.name = name;
    }

    private enum Kind
    {
        Point,
        Seam,
        Patch,
        Block,
    }

    /// <summary>Fits the copies of a block to the picture, where there is one.</summary>
    /// <param name="map">The map so far.</param>
    /// <param name="blockId">The block that is right.</param>
    /// <returns>The map, and what a person should know.</returns>
    public delegate (QuiltMap Map, IReadOnlyList<Finding> Findings) Teacher(QuiltMap map, string blockId);

    /// <summary>Carries out edits.</summary>
    /// <param name="map">A map that <see cref="MapCheck"/> has inspected.</param>
    /// <param name="edits">The edits, in order.</param>
    /// <param name="name">Name of their file, for messages.</param>
    /// <param name="teach">Carries out <see cref="TeachBlock"/>; null where there is no picture.</param>
    /// <exception cref="InputException">
    /// An edit's number is out of range or its pattern unknown; a block is to be taught and there is no picture.
    /// </exception>
    public static ReplayedMap Run(QuiltMap map, IReadOnlyList<MapEdit> edits, string name, Teacher? teach = null)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(edits);
        EditReplay replay = new(map, name);
        for (int i = 0; i < edits.Count; i++)
        {
            string place = string.Create(CultureInfo.InvariantCulture, $"{name}: edits[{i}]");
            replay.RunOne(edits[i], place, teach);
        }

        return new(replay.map, replay.done, replay.findings, replay.newSeamIds);
    }

    private void RunOne(MapEdit edit, string place, Teacher? teach)
    {
        try
        {
            EditLimits.Require(edit, map.Width, map.Height);
            if (edit is TeachBlock && teach is null)
            {
                Mender.Apply(map, edit);
            }
        }
        catch (InputException e)
        {
            throw new InputException(e.What, $"{place}: {e.Where}", e.Remedy, e);
        }

        if (Found(edit) is not { } ready)
        {
            done.Add(edit);
            findings.Add(
                new(
                    "edit-lost",
                    $"{place}: {edit.Word} {SpotOf(edit)}",
                    "Nothing of its kind lies there any more; look at the place and make the edit again, or take it out of the file."
                )
            );
            return;
        }

        try
        {
            if (ready is TeachBlock taught)
            {
                (map, IReadOnlyList<Finding> seen) = teach!(map, taught.Block.Id!);
                findings.AddRange(seen);
                done.Add(ready);
                return;
            }

            MendedMap mended = Mender.Apply(map, ready);
            map = mended.Map;
            done.Add(mended.Edit);
            findings.AddRange(mended.Findings);
        }
        catch (InputException e) when (e.What == Mender.AlreadyThere)
        {
            done.Add(edit);
            findings.Add(
                new("edit-not-needed", $"{place}: {e.What}, {e.Where}", "Nothing; the seam was found without it.")
            );
        }
        catch (InputException e)
        {
            done.Add(edit);
            findings.Add(new("edit-refused", $"{place}: {e.What}, {e.Where}", e.Remedy));
        }
    }

    // The edit with its object's id, after that id was given to what lies at its place; null where nothing does.
    private MapEdit? Found(MapEdit edit) =>
        edit switch
        {
            AddSeam or AddBlock => Made(edit),
            MovePoint e => With(FindPoint(e.Point), s => e with { Point = s }),
            RemoveSeam e => With(FindSeam(e.Seam), s => e with { Seam = s }),
            BendSeam e => With(FindSeam(e.Seam), s => e with { Seam = s }),
            SureSeam e => With(FindSeam(e.Seam), s => e with { Seam = s }),
            SayDitch e => With(FindSeam(e.Seam), s => e with { Seam = s }),
            SayEdge e => With(FindSeam(e.Seam, SeamRole.Edge), s => e with { Seam = s }),
            LeavePatch e => With(FindPatch(e.Patch), s => e with { Patch = s }),
            NameBlock e => With(FindBlock(e.Block), s => e with { Block = s }),
            SetCorners e => With(FindBlock(e.Block), s => e with { Block = s }),
            RemoveBlock e => With(FindBlock(e.Block), s => e with { Block = s }),
            CopyBlock e => With(FindBlock(e.Block), s => e with { Block = s }),
            TeachBlock e => With(FindBlock(e.Block), s => e with { Block = s }),
            _ => null,
        };

    private static MapEdit? With(Spot? spot, Func<Spot, MapEdit> with) => spot is null ? null : with(spot);

    private static Spot? SpotOf(MapEdit edit) =>
        edit switch
        {
            MovePoint e => e.Point,
            RemoveSeam e => e.Seam,
            BendSeam e => e.Seam,
            SureSeam e => e.Seam,
            SayDitch e => e.Seam,
            SayEdge e => e.Seam,
            LeavePatch e => e.Patch,
            NameBlock e => e.Block,
            SetCorners e => e.Block,
            RemoveBlock e => e.Block,
            CopyBlock e => e.Block,
            TeachBlock e => e.Block,
            _ => null,
        };

    // What an edit adds keeps the id that it got at first; what has that id in the new map gives it up.
    private MapEdit Made(MapEdit edit)
    {
        (Kind kind, string? id) = edit is AddSeam seam
            ? (Kind.Seam, seam.Seam)
            : (Kind.Block, (edit as AddBlock)?.Block);
        if (id is not null && claimed.Add((kind, id)) && IsThere(kind, id))
        {
            Rename(kind, id, new FreshIds(map).Next(kind == Kind.Seam ? "s" : "b"));
        }

        return edit;
    }

    private Spot? FindPoint(Spot spot) =>
        Claim(
            Kind.Point,
            spot,
            spot.At is { } at
                ? Nearest(Kind.Point, map.Junctions, spot, j => j.Id, j => j.Place.DistanceTo(at))
                : Spots.FindPoint(map, spot)?.Id
        );

    private Spot? FindSeam(Spot spot, SeamRole? role = null) =>
        Claim(
            Kind.Seam,
            spot,
            spot.At is { } at
                ? Nearest(
                    Kind.Seam,
                    map.Seams.Where(s => role is null || s.Role == role),
                    spot,
                    s => s.Id,
                    s => Spots.DistanceTo(map, s, at)
                )
                : Spots.FindSeam(map, spot)?.Id
        );

    private Spot? FindPatch(Spot spot) =>
        Claim(Kind.Patch, spot, spot.At is { } at ? Spots.PatchAt(map, at)?.Id : Spots.FindPatch(map, spot)?.Id);

    private Spot? FindBlock(Spot spot) =>
        Claim(Kind.Block, spot, spot.At is { } at ? Spots.BlockAt(map, at)?.Id : Spots.FindBlock(map, spot)?.Id);

    // What another edit knows by its own id is not taken for this one, and what is gone by name is not replaced by a neighbour.
    private string? Nearest<T>(
        Kind kind,
        IEnumerable<T> items,
        Spot spot,
        Func<T, string> idOf,
        Func<T, double> distanceOf
    )
        where T : class
    {
        if (spot.Id is not { } id)
        {
            return Spots.Nearest(items, null, idOf, distanceOf) is { } any ? idOf(any) : null;
        }

        if (claimed.Contains((kind, id)) && !IsThere(kind, id))
        {
            return null;
        }

        T? found = Spots.Nearest(
            items.Where(i => idOf(i) == id || !claimed.Contains((kind, idOf(i)))),
            id,
            idOf,
            distanceOf
        );
        return found is null ? null : idOf(found);
    }

    private Spot? Claim(Kind kind, Spot spot, string? found)
    {
        if (found is null)
        {
            return null;
        }

        string id = spot.Id ?? found;
        if (id != found && (claimed.Contains((kind, found)) || claimed.Contains((kind, id))))
        {
            // An earlier edit has named one of the two: names stay, the place decides.
            return spot with { Id = found };
        }

        if (id != found)
        {
            Rename(kind, found, id);
        }

        claimed.Add((kind, id));
        return spot with { Id = id };
    }

    private bool IsThere(Kind kind, string id) =>
        kind switch
        {
            Kind.Point => map.Junctions.Any(j => j.Id == id),
            Kind.Seam => map.FindSeam(id) is not null,
            Kind.Patch => map.Patches.Any(p => p.Id == id),
            _ => map.FindBlock(id) is not null,
        };

    // Gives one thing another id; what has that id gets the first one's.
    private void Rename(Kind kind, string from, string to)
    {
        if (kind == Kind.Seam)
        {
            Track(from, to);
        }

        map = new(
            map.Width,
            map.Height,
            [.. map.Junctions.Select(j => j with { Id = Of(Kind.Point, j.Id) })],
            [
                .. map.Seams.Select(s =>
                    s with
                    {
                        Id = Of(Kind.Seam, s.Id),
                        From = Of(Kind.Point, s.From),
                        To = Of(Kind.Point, s.To),
                    }
                ),
            ],
            [
                .. map.Patches.Select(p =>
                    p with
                    {
                        Id = Of(Kind.Patch, p.Id),
                        Seams = [.. p.Seams.Select(s => Of(Kind.Seam, s))],
                        Holes = [.. p.Holes.Select(h => (IReadOnlyList<string>)[.. h.Select(s => Of(Kind.Seam, s))])],
                    }
                ),
            ],
            [
                .. map.Blocks.Select(b =>
                    b with
                    {
                        Id = Of(Kind.Block, b.Id),
                        Patches = [.. b.Patches.Select(p => Of(Kind.Patch, p))],
                    }
                ),
            ],
            map.Unknown
        );

        string Of(Kind own, string id) =>
            own != kind ? id
            : id == from ? to
            : id == to ? from
            : id;
    }

    private void Track(string from, string to)
    {
        bool swap = IsThere(Kind.Seam, to);
        foreach ((string first, string now) in newSeamIds.ToArray())
        {
            newSeamIds[first] =
                now == from ? to
                : now == to && swap ? from
                : now;
        }

        newSeamIds.TryAdd(from, to);
        if (swap)
        {
            newSeamIds.TryAdd(to, from);
        }
    }
}
