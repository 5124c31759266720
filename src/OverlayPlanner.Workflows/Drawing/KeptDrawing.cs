using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>
/// Keeps what is drawn on a quilt's blocks as it is drawn. Saves run one after the other beside the drawing, the newest state in
/// each, so that a program that is killed loses the move in hand at most.
/// </summary>
public sealed class KeptDrawing
{
    /// <summary>Name of the file.</summary>
    public const string File = "drawings.json";

    private static readonly JsonSerializerOptions Words = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        PropertyNameCaseInsensitive = true,
    };

    private readonly QuiltStore store;
    private readonly Lock guard = new();
    private readonly Dictionary<string, Line[]> drawn;
    private readonly byte[] map;
    private byte[] known;
    private KeptQuilt quilt;
    private Task saving = Task.CompletedTask;
    private bool waiting;

    /// <summary>Reads what is kept.</summary>
    /// <exception cref="InputException">The quilt has no map.</exception>
    public KeptDrawing(QuiltStore store, KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(quilt);
        this.store = store;
        this.quilt = quilt;
        map = InputFiles
            .ReadAll(quilt.Map ?? throw new InputException("The quilt has no map", quilt.Name, "Find the seams first."))
            .ToArray();
        known = BytesOf(quilt);
        drawn = Read(known);
    }

    /// <summary>Why the last save failed, or null. What is drawn goes on being shown, and the next save tries again.</summary>
    public InputException? Trouble { get; private set; }

    /// <summary>Lays what is kept of a block on its board.</summary>
    /// <returns>False where the map has changed since, and the old path is left out.</returns>
    public bool Restore(DrawingBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        Line[] lines;
        lock (guard)
        {
            lines = drawn.GetValueOrDefault(board.Block.Id, []);
        }

        return board.Restore([
            .. lines.Select(l => new DrawnMove(
                l.From,
                l.To,
                l.Seam,
                new(new(l.Path[0], l.Path[1]), new(l.Path[2], l.Path[3]), l.Path[4])
            )
            {
                Starts = l.Starts,
            }),
        ]);
    }

    /// <summary>Keeps a block's moves; returns at once.</summary>
    public void Keep(DrawingBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        Line[] lines =
        [
            .. board.Moves.Select(m => new Line(
                m.From,
                m.To,
                m.Seam,
                m.Starts,
                [m.Path.From.X, m.Path.From.Y, m.Path.To.X, m.Path.To.Y, m.Path.Bulge]
            )),
        ];
        lock (guard)
        {
            drawn[board.Block.Id] = lines;
            if (!waiting)
            {
                waiting = true;
                saving = saving.ContinueWith(_ => Save(), TaskScheduler.Default);
            }
        }
    }

    /// <summary>Waits until all that was given is saved, or could not be.</summary>
    public Task WhenSaved()
    {
        lock (guard)
        {
            return saving;
        }
    }

    /// <summary>
    /// Puts a board's path among the quilt's choices and takes it; an earlier one drawn on the same block gives way to it.
    /// </summary>
    /// <returns>The quilt and the choice's letter.</returns>
    /// <exception cref="InputException">Nothing is drawn, or another window changed the quilt.</exception>
    public Task<(KeptQuilt Quilt, string Choice)> TakeAsync(
        DrawingBoard board,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(board);
        return TakeAsync(board, board.ToCandidate("A", cancellation));
    }

    /// <summary>As the other, with the path laid on every block of the kind that can take it; the choice's design says on how many.</summary>
    /// <inheritdoc cref="TakeAsync(DrawingBoard, CancellationToken)"/>
    public Task<(KeptQuilt Quilt, string Choice)> TakeAsync(
        DrawingBoard board,
        SameKind kind,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(board);
        return TakeAsync(board, board.ToCandidate("A", kind, cancellation));
    }

    private async Task<(KeptQuilt Quilt, string Choice)> TakeAsync(DrawingBoard board, RouteCandidate first)
    {
        await WhenSaved();
        QuiltMap whole = QuiltSteps.MapOf(quilt);
        RouteCandidate[] others =
        [
            .. (QuiltSteps.RouteOf(quilt)?.Candidates ?? []).Where(c => !IsDrawnOn(c, board.Block.Id)),
        ];
        string name = Enumerable
            .Range('A', 26)
            .Select(c => ((char)c).ToString())
            .First(n => others.All(o => o.Name != n));
        Route route = new(whole, [.. others, first with { Name = name }]);
        lock (guard)
        {
            quilt = SaveOver((QuiltStore.RouteFile, RouteFile.Write(route)));
            quilt = QuiltSteps.ChooseAnew(store, quilt, name);
            return (quilt, name);
        }

        static bool IsDrawnOn(RouteCandidate c, string block) =>
            c.Design?.StartsWith(DrawingBoard.DesignWord, StringComparison.Ordinal) == true
            && c.AllMoves.FirstOrDefault()?.Block == block;
    }

    private void Save()
    {
        byte[] bytes;
        lock (guard)
        {
            waiting = false;
            bytes = JsonSerializer.SerializeToUtf8Bytes(new Drawings(drawn), Words);
        }

        try
        {
            KeptQuilt now = SaveOver((File, bytes));
            (quilt, known, Trouble) = (now, bytes, null);
        }
        catch (InputException e)
        {
            Trouble = e;
        }
    }

    // A save of something else in another window, a choice taken or a quilt renamed, does not stand in the way.
    private KeptQuilt SaveOver((string File, ReadOnlyMemory<byte> Bytes) file)
    {
        try
        {
            return store.SaveIfUnchanged(quilt, file);
        }
        catch (InputException)
        {
            KeptQuilt now = store.Open(quilt.Id);
            if (
                now.Stamp == quilt.Stamp
                || !BytesOf(now).AsSpan().SequenceEqual(known)
                || now.Map is not { } path
                || !InputFiles.ReadAll(path).Span.SequenceEqual(map)
            )
            {
                throw;
            }

            return store.SaveIfUnchanged(now, file);
        }
    }

    private static byte[] BytesOf(KeptQuilt quilt)
    {
        string path = quilt.PathOf(File);
        return System.IO.File.Exists(path) ? InputFiles.ReadAll(path).ToArray() : [];
    }

    private static Dictionary<string, Line[]> Read(byte[] bytes)
    {
        try
        {
            Drawings? read = bytes.Length == 0 ? null : JsonSerializer.Deserialize<Drawings>(bytes, Words);
            return read?.Blocks is { } blocks
                ? new(
                    blocks.Where(b =>
                        b.Value is { } l && l.All(x => x is { From: not null, To: not null, Path.Length: 5 })
                    ),
                    StringComparer.Ordinal
                )
                : [];
        }
        catch (JsonException)
        {
            // A file that someone spoilt is no drawing; the next move writes a new one.
            return [];
        }
    }

    private sealed record Drawings(Dictionary<string, Line[]> Blocks);

    private sealed record Line(string From, string To, string? Seam, bool Starts, double[] Path);
}
