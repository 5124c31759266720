using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>
/// Mending of a kept quilt's map, a move at a time. Each move is saved, whole or not at all, before it counts, with what undo and redo
/// need: whoever kills the program loses at most the move that was under way. Routes and sheets that no longer agree with the map go.
/// Not for use by two threads at once; several desks on one quilt refuse one another's moves.
/// </summary>
public sealed class MendingDesk
{
    private readonly QuiltStore store;
    private MendingFiles.Remembered kept;
    private readonly CopyTeaching teaching;
    private QuiltMap begun;

    private MendingDesk(QuiltStore store, KeptQuilt quilt, MendingFiles.Remembered kept, CopyTeaching teaching)
    {
        this.store = store;
        this.teaching = teaching;
        this.kept = kept;
        Quilt = quilt;
        begun = kept.Log.Map;
    }

    /// <summary>The quilt as this desk saved or opened it last.</summary>
    public KeptQuilt Quilt { get; private set; }

    /// <summary>The map with all edits in force.</summary>
    public QuiltMap Map => kept.Log.Map;

    /// <summary>The edits in force, in the order in which they were made, those of an earlier map of this quilt first.</summary>
    public IReadOnlyList<MapEdit> Edits => [.. kept.Carried, .. kept.Log.Edits];

    /// <summary>What undo takes back, or null where there is nothing.</summary>
    public MapEdit? ToUndo => kept.Log.CanUndo ? kept.Log.Edits[^1] : null;

    /// <summary>What redo does again, or null where there is nothing.</summary>
    public MapEdit? ToRedo => kept.Log.Undone is [{ } first, ..] ? first : null;

    /// <summary>Whether the copies of a block can be fitted to their own pixels; by the block's corners they always can.</summary>
    public bool CanFitToPhoto => CopyTeaching.CanTeach(Quilt);

    /// <summary>Told what is being done where a move takes seconds.</summary>
    public IProgress<string>? Progress
    {
        get => teaching.Progress;
        set => teaching.Progress = value;
    }

    /// <summary>True once a move was refused because another window saved the quilt; only a desk opened anew goes on.</summary>
    public bool IsStale { get; private set; }

    /// <summary>Points at which a seam ends inside a patch; it must be led on or taken out before a route can follow it.</summary>
    public IReadOnlyList<QuiltPart> LooseEnds =>
        [
            .. Map
                .Seams.SelectMany(s => new[] { s.From, s.To })
                .GroupBy(j => j)
                .Where(g => g.Count() == 1)
                .Select(g => new QuiltPart(QuiltPartKind.Point, g.Key)),
        ];

    /// <summary>Takes up the mending of a quilt where it was left.</summary>
    /// <param name="store">Where the quilt is kept.</param>
    /// <param name="id">The quilt's id.</param>
    /// <exception cref="InputException">There is no such quilt or no map, or a file of it can't be read.</exception>
    public static MendingDesk Open(QuiltStore store, string id)
    {
        ArgumentNullException.ThrowIfNull(store);
        KeptQuilt quilt = store.Open(id);
        CopyTeaching taught = new(quilt);
        return new(store, quilt, MendingFiles.Read(quilt, taught), taught);
    }

    /// <summary>Makes an edit and saves it. What was taken back before can't be done again any more.</summary>
    /// <returns>False where the map has it so already: nothing was changed or saved.</returns>
    /// <exception cref="InputException">The edit is not possible, or the quilt was saved elsewhere or can't be; nothing has changed.</exception>
    public bool Apply(MapEdit edit)
    {
        ArgumentNullException.ThrowIfNull(edit);
        RequireOwn();
        QuiltMap before = Map;
        MendedMap mended = kept.Log.Try(edit);
        if (MendingFiles.AreSame(mended.Map, before) || (ToUndo is { } last && MendingFiles.AreSame(mended.Edit, last)))
        {
            return false;
        }

        MendingFiles.RequireRoom(kept.Carried.Count + kept.Log.Count);
        IReadOnlyList<MapEdit> undone = kept.Log.Undone;
        kept.Log.Apply(edit);
        Keep(() =>
        {
            kept.Log.Undo();
            kept.Log.Restore(undone);
        });
        return true;
    }

    /// <summary>Takes the last edit back and saves that; does nothing where there is none.</summary>
    /// <exception cref="InputException">The quilt was saved elsewhere or can't be; nothing has changed.</exception>
    public void Undo()
    {
        RequireOwn();
        if (kept.Log.CanUndo)
        {
            kept.Log.Undo();
            Keep(() => kept.Log.Redo());
        }
    }

    /// <summary>Does again what was taken back last and saves that; does nothing where there is none.</summary>
    /// <exception cref="InputException">As <see cref="Undo"/>.</exception>
    public void Redo()
    {
        RequireOwn();
        if (kept.Log.CanRedo)
        {
            kept.Log.Redo();
            Keep(() => kept.Log.Undo());
        }
    }

    /// <summary>The map's places to look at first, in the order in which to walk through them.</summary>
    /// <param name="words">The reader's lengths.</param>
    public IReadOnlyList<LookStep> LookFirst(LengthWords words) =>
        LookSteps.Of(Map, MissedLines.Of(Quilt), kept.NoSeams, words);

    /// <summary>Keeps that a line which may be a seam is none, so that it is not asked again.</summary>
    /// <param name="line">The question about it.</param>
    /// <exception cref="InputException">As <see cref="Undo"/>.</exception>
    public void SayNoSeam(LookStep line)
    {
        ArgumentNullException.ThrowIfNull(line);
        RequireOwn();
        MendingFiles.Remembered before = kept;
        kept = kept with { NoSeams = [.. kept.NoSeams.Append(line.Key).Distinct()] };
        try
        {
            Save(dropRoutes: false);
        }
        catch (InputException)
        {
            kept = before;
            IsStale = store.Open(Quilt.Id).Stamp != Quilt.Stamp;
            throw;
        }
    }

    /// <summary>Where the end of a seam that is begun at a place will lie, as <see cref="AddSeam.Snap"/> draws it.</summary>
    /// <param name="at">The place touched, inches.</param>
    /// <param name="within">How near a point or a seam must be to draw it.</param>
    /// <returns>The place, and whether a point or a seam is there; null where it is an open place.</returns>
    public (Point<ClothSpace> Place, QuiltPart? On) Snapped(Point<ClothSpace> at, Length within)
    {
        if (
            Map.Junctions.MinBy(j => j.Place.DistanceTo(at)) is { } point
            && point.Place.DistanceTo(at) <= within.Inches
        )
        {
            return (point.Place, new(QuiltPartKind.Point, point.Id));
        }

        if (Map.Seams.MinBy(s => Map.EdgeOf(s).Nearest(at).Distance) is { } seam)
        {
            (double t, double distance) = Map.EdgeOf(seam).Nearest(at);
            if (distance <= within.Inches)
            {
                return (Map.EdgeOf(seam).PointAt(t), new(QuiltPartKind.Seam, seam.Id));
            }
        }

        return (at, null);
    }

    /// <summary>The edit that adds the block whose four corners were touched, in whatever order.</summary>
    /// <param name="map">The map; a corner beyond its outline is drawn in to it.</param>
    /// <param name="corners">Four places, inches.</param>
    public static AddBlock Outlining(QuiltMap map, IReadOnlyList<Point<ClothSpace>> corners)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(corners);
        corners =
        [
            .. corners.Select(c => new Point<ClothSpace>(
                Math.Clamp(c.X, 0, map.Width.Inches),
                Math.Clamp(c.Y, 0, map.Height.Inches)
            )),
        ];

        // Clockwise as seen, y down: by the angle about the middle; from the corner that lies most to the top left.
        Point<ClothSpace> middle = new(corners.Average(c => c.X), corners.Average(c => c.Y));
        Point<ClothSpace>[] round = [.. corners.OrderBy(c => Math.Atan2(c.Y - middle.Y, c.X - middle.X))];
        int first = round.Index().MinBy(c => c.Item.X + c.Item.Y).Index;
        return new([.. round[first..], .. round[..first]]);
    }

    /// <summary>What is marked of a block whose corners are being touched, as SVG path data in cloth inches.</summary>
    /// <param name="corners">The places so far.</param>
    public static string OutlineOf(IReadOnlyList<Point<ClothSpace>> corners)
    {
        ArgumentNullException.ThrowIfNull(corners);
        return string.Concat(corners.Select(MarkOf))
            + SvgWay.Of(corners.Zip(corners.Skip(1)).Select(c => new Edge<ClothSpace>(c.First, c.Second)));
    }

    /// <summary>The drafted seams of a block's kind as they would lie in it by its turn and mirror, SVG path data; null for no draft.</summary>
    /// <param name="block">The block's id.</param>
    public string? DraftOf(string block)
    {
        if (Map.FindBlock(block) is not { Pattern: { } pattern } b)
        {
            return null;
        }

        try
        {
            BlockFrame frame = new(b);
            return SvgWay.Of(
                BlockLibrary
                    .Find(pattern)
                    .Patches.SelectMany(ring =>
                        ring.Select(
                            (a, i) =>
                            {
                                DraftCorner to = ring[(i + 1) % ring.Count];
                                return frame.ToCloth(a.X, a.Y, to.X, to.Y, a.Bulge);
                            }
                        )
                    )
            );
        }
        catch (InputException)
        {
            // A pattern of her own, of which there is no draft.
            return null;
        }
    }

    /// <summary>A small cross that marks a place, as SVG path data in cloth inches.</summary>
    /// <param name="at">The place, inches.</param>
    public static string MarkOf(Point<ClothSpace> at)
    {
        const double Arm = 0.25;
        return SvgWay.Of([
            new Edge<ClothSpace>(at + new Vector<ClothSpace>(-Arm, 0), at + new Vector<ClothSpace>(Arm, 0)),
            new Edge<ClothSpace>(at + new Vector<ClothSpace>(0, -Arm), at + new Vector<ClothSpace>(0, Arm)),
        ]);
    }

    /// <summary>What is known of a part: its size with its error, and what can be done with it; null where it is there no more.</summary>
    /// <param name="part">The part.</param>
    /// <param name="words">The reader's lengths.</param>
    public PartReading? Read(QuiltPart part, LengthWords words) => PartReading.Of(Map, part, words);

    private void Keep(Action back)
    {
        try
        {
            Save(dropRoutes: true);
        }
        catch (InputException)
        {
            back();
            IsStale = IsStale || store.Open(Quilt.Id).Stamp != Quilt.Stamp;
            throw;
        }
    }

    private void Save(bool dropRoutes)
    {
        (string File, ReadOnlyMemory<byte> Bytes)[] files = MendingFiles.Write(
            kept,
            kept.Log.Undone,
            kept.IsNew ? begun : null
        );

        // With the map, as a route beside another map would be followed.
        Quilt = store.Replace(Quilt, dropRoutes ? QuiltSteps.OfMap : [], [.. files, .. teaching.Fresh]);
        teaching.Saved();
        kept = kept with { IsNew = false };
    }

    private void RequireOwn()
    {
        if (IsStale)
        {
            throw new InputException(
                "This quilt was changed in another window",
                Quilt.Name,
                "Open it again here to go on from that change."
            );
        }
    }
}
