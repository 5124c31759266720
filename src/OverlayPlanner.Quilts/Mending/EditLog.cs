using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>The edits of a map, one after another, with undo and redo without limit. Not for use by two threads at once.</summary>
/// <remarks>
/// Edits are what is kept; of the maps in between only some are, the latest and every sixteenth. An earlier one is made again
/// from the nearest that is kept, by at most fifteen edits, and comes out the same.
/// </remarks>
public sealed class EditLog
{
    private const int KeepEvery = 16;
    private const int KeepLatest = 16;

    private readonly List<MapEdit> edits = [];
    private readonly SortedDictionary<int, QuiltMap> kept = [];

    private readonly Func<QuiltMap, TeachBlock, QuiltMap>? teach;

    /// <summary>Begins with a map, which is inspected and repaired where that is safe.</summary>
    /// <param name="map">The map.</param>
    /// <param name="teach">
    /// Carries out <see cref="TeachBlock"/>, which wants a picture, and gives the same map each time it is asked the same; null where
    /// there is no picture.
    /// </param>
    /// <exception cref="InputException">The map is no plane graph.</exception>
    public EditLog(QuiltMap map, Func<QuiltMap, TeachBlock, QuiltMap>? teach = null)
    {
        this.teach = teach;
        Map = kept[0] = MapCheck.RequirePlane(MapCheck.Inspect(map), "map");
    }

    /// <summary>The map after the edits so far.</summary>
    public QuiltMap Map { get; private set; }

    /// <summary>How many edits are in force.</summary>
    public int Count { get; private set; }

    /// <summary>The edits in force, in order, with ids and places filled in.</summary>
    public IReadOnlyList<MapEdit> Edits => edits.GetRange(0, Count);

    /// <summary>The edits that were taken back, the one to do again first at the front.</summary>
    public IReadOnlyList<MapEdit> Undone => edits.GetRange(Count, edits.Count - Count);

    /// <summary>True where there is something to undo.</summary>
    public bool CanUndo => Count > 0;

    /// <summary>True where something was undone and nothing else was done since.</summary>
    public bool CanRedo => Count < edits.Count;

    /// <summary>Carries out an edit; what was undone before can't be redone any more.</summary>
    /// <exception cref="InputException">As <see cref="Mender.Apply"/>; nothing has changed then.</exception>
    public MendedMap Apply(MapEdit edit)
    {
        MendedMap mended = Try(edit);
        edits.RemoveRange(Count, edits.Count - Count);
        edits.Add(mended.Edit);
        foreach (int later in kept.Keys.Where(k => k > Count).ToArray())
        {
            kept.Remove(later);
        }

        Go(Count + 1, mended.Map);
        return mended;
    }

    /// <summary>What an edit would make of the map; nothing changes.</summary>
    /// <exception cref="InputException">As <see cref="Mender.Apply"/>.</exception>
    public MendedMap Try(MapEdit edit) => CarryOut(Map, edit);

    /// <summary>Puts edits that were taken back in the place of those that could be done again.</summary>
    /// <param name="undone">Edits that fit the map as it is, the one to do again first at the front.</param>
    public void Restore(IReadOnlyList<MapEdit> undone)
    {
        ArgumentNullException.ThrowIfNull(undone);
        edits.RemoveRange(Count, edits.Count - Count);
        edits.AddRange(undone);
        foreach (int later in kept.Keys.Where(k => k > Count).ToArray())
        {
            kept.Remove(later);
        }
    }

    /// <summary>Takes the last edit back.</summary>
    /// <returns>The map as it was before it.</returns>
    /// <exception cref="InvalidOperationException">There is none.</exception>
    public QuiltMap Undo()
    {
        if (!CanUndo)
        {
            throw new InvalidOperationException("There is nothing to undo.");
        }

        return Go(Count - 1, MapAfter(Count - 1));
    }

    /// <summary>Carries out again what was taken back last.</summary>
    /// <returns>The map after it.</returns>
    /// <exception cref="InvalidOperationException">There is none.</exception>
    public QuiltMap Redo()
    {
        if (!CanRedo)
        {
            throw new InvalidOperationException("There is nothing to redo.");
        }

        return Go(Count + 1, MapAfter(Count + 1));
    }

    private MendedMap CarryOut(QuiltMap map, MapEdit edit)
    {
        if (edit is not TeachBlock taught || teach is null)
        {
            return Mender.Apply(map, edit);
        }

        EditLimits.Require(edit, map.Width, map.Height);
        Block block = Spots.Block(map, taught.Block);
        TeachBlock ready = taught with { Block = BlockMending.SpotOf(block, taught.Block) };
        return new(teach(map, ready), ready, []);
    }

    private QuiltMap Go(int count, QuiltMap map)
    {
        Count = count;
        kept[count] = map;
        foreach (int old in kept.Keys.Where(k => k % KeepEvery != 0 && Math.Abs(k - count) > KeepLatest).ToArray())
        {
            kept.Remove(old);
        }

        return Map = map;
    }

    private QuiltMap MapAfter(int count)
    {
        int at = count;
        while (!kept.ContainsKey(at))
        {
            at--;
        }

        QuiltMap map = kept[at];
        for (; at < count; at++)
        {
            map = CarryOut(map, edits[at]).Map;
            kept[at + 1] = map;
        }

        return map;
    }
}
