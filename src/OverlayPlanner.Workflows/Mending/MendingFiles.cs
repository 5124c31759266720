using System.Security.Cryptography;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>
/// What a kept quilt remembers of its mending: the map as it was found, the edits in force and those that were taken back. The map
/// in use follows from the first two; a map that was made anew since is known by its digest, and mending begins with it.
/// </summary>
internal static class MendingFiles
{
    /// <summary>The edits in force, fit to be carried out on the photograph mapped again.</summary>
    public const string Edits = "edits.json";

    /// <summary>The map that the edits begin with.</summary>
    public const string Begun = "as-found.json";

    private const string Undone = "undone.json";
    private const string State = "mending.json";

    private static readonly JsonSerializerOptions Words = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase };

    /// <summary>The edits of a quilt, as they were left.</summary>
    /// <param name="Carried">Edits that the map in use had before mending began with it; they can't be taken back.</param>
    /// <param name="Log">The edits since.</param>
    /// <param name="IsNew">True where the map that mending begins with is still to be kept.</param>
    public sealed record Remembered(IReadOnlyList<MapEdit> Carried, EditLog Log, bool IsNew)
    {
        /// <summary>Lines that may be seams and that the user said are none: keys of their questions.</summary>
        public IReadOnlyList<string> NoSeams { get; init; } = [];
    }

    /// <summary>Takes up where mending was left.</summary>
    /// <exception cref="InputException">There is no map, or a file can't be read.</exception>
    public static Remembered Read(KeptQuilt quilt, CopyTeaching teaching)
    {
        QuiltMap map = QuiltSteps.MapOf(quilt);
        IReadOnlyList<MapEdit> edits = ReadEdits(quilt, Edits);
        if (ReadState(quilt) is { } state && state.Map == DigestOf(QuiltMapFile.Write(map)))
        {
            int carried = Math.Clamp(state.Carried, 0, edits.Count);
            if (Again(quilt, edits.Skip(carried), ReadEdits(quilt, Undone), state.Map, teaching) is { } log)
            {
                return new([.. edits.Take(carried)], log, IsNew: false) { NoSeams = state.NoSeams ?? [] };
            }
        }

        return new(edits, new EditLog(map, teaching.Teach), IsNew: true);
    }

    /// <summary>All files that a save writes.</summary>
    /// <param name="now">What is to be remembered.</param>
    /// <param name="undone">The edits taken back, the one to redo first at the front.</param>
    /// <param name="begun">The map that mending begins with, where it is new.</param>
    public static (string File, ReadOnlyMemory<byte> Bytes)[] Write(
        Remembered now,
        IReadOnlyList<MapEdit> undone,
        QuiltMap? begun
    )
    {
        byte[] map = QuiltMapFile.Write(now.Log.Map);
        StateFields state = new(DigestOf(map), now.Carried.Count, now.NoSeams);
        List<(string, ReadOnlyMemory<byte>)> files =
        [
            (QuiltStore.MapFile, map),
            (Edits, EditsFile.Write(new([.. now.Carried, .. now.Log.Edits]))),
            (Undone, EditsFile.Write(new(undone))),
            (State, JsonSerializer.SerializeToUtf8Bytes(state, Words)),
        ];
        if (begun is not null)
        {
            files.Add((Begun, QuiltMapFile.Write(begun)));
        }

        return [.. files];
    }

    /// <summary>The edits to carry over where the photograph is mapped again.</summary>
    public static MapHints HintsOf(KeptQuilt quilt) =>
        File.Exists(quilt.PathOf(Edits)) ? new() { Edits = quilt.PathOf(Edits) } : MapHints.None;

    /// <summary>True where two maps are the same file.</summary>
    public static bool AreSame(QuiltMap a, QuiltMap b) =>
        ReferenceEquals(a, b) || QuiltMapFile.Write(a).AsSpan().SequenceEqual(QuiltMapFile.Write(b));

    /// <summary>True where two edits are the same line of a file, which may not stand twice in a row.</summary>
    public static bool AreSame(MapEdit a, MapEdit b) =>
        EditsFile.Write(new([a])).AsSpan().SequenceEqual(EditsFile.Write(new([b])));

    /// <summary>Refuses one edit more than a file may hold.</summary>
    public static void RequireRoom(int edits)
    {
        if (edits >= EditsFile.MostEdits)
        {
            throw new InputException(
                "The quilt has as many edits as can be kept",
                "the map",
                "Make a copy of the quilt's map and go on from there."
            );
        }
    }

    // Null where the edits no longer lead to the map in use: an edited file, or a map from elsewhere.
    private static EditLog? Again(
        KeptQuilt quilt,
        IEnumerable<MapEdit> done,
        IReadOnlyList<MapEdit> undone,
        string digest,
        CopyTeaching teaching
    )
    {
        string path = quilt.PathOf(Begun);
        if (!File.Exists(path))
        {
            return null;
        }

        try
        {
            EditLog log = new(InputFiles.ReadPlaneMap(path).Map, teaching.Teach);
            foreach (MapEdit edit in done)
            {
                log.Apply(edit);
            }

            if (DigestOf(QuiltMapFile.Write(log.Map)) != digest)
            {
                return null;
            }

            log.Restore(undone);
            return log;
        }
        catch (InputException)
        {
            return null;
        }
    }

    private static IReadOnlyList<MapEdit> ReadEdits(KeptQuilt quilt, string file)
    {
        string path = quilt.PathOf(file);
        return File.Exists(path) ? EditsFile.Read(InputFiles.ReadAll(path), path).Edits : [];
    }

    private static StateFields? ReadState(KeptQuilt quilt)
    {
        string path = quilt.PathOf(State);
        try
        {
            return File.Exists(path)
                ? JsonSerializer.Deserialize<StateFields>(InputFiles.ReadAll(path).Span, Words)
                : null;
        }
        catch (JsonException)
        {
            // Without it the map in use is what mending begins with; nothing of the map is lost.
            return null;
        }
    }

    private static string DigestOf(byte[] map) => Convert.ToHexString(SHA256.HashData(map));

    private sealed record StateFields(string Map, int Carried, IReadOnlyList<string>? NoSeams);
}
