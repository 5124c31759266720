using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>What the needle does on one move.</summary>
public enum MoveKind
{
    /// <summary>Along a seam, once.</summary>
    Ditch,

    /// <summary>Along the outline, once.</summary>
    Frame,

    /// <summary>Along a line already stitched.</summary>
    Retrace,

    /// <summary>A curved line added inside a patch.</summary>
    Arc,

    /// <summary>A straight line added inside a patch.</summary>
    Line,
}

/// <summary>Which of two threads is in the needle.</summary>
public enum StitchThread
{
    /// <summary>The fine one that matches the cloth, for seams.</summary>
    Ditch,

    /// <summary>The one that is meant to be seen, for added lines.</summary>
    Design,
}

/// <summary>What one of two threads stitches, with its own proof.</summary>
/// <param name="Thread">Which.</param>
/// <param name="Starts">Its starts.</param>
/// <param name="Doubled">Length that it goes over again.</param>
/// <param name="LeastStarts">Fewest starts of its lines with nothing stitched twice.</param>
/// <param name="LeastDoubled">Least length gone over again with no more starts than it has.</param>
/// <param name="Optimal">Starts or length are the least, by the thread wish.</param>
public sealed record ThreadShare(
    StitchThread Thread,
    int Starts,
    Length Doubled,
    int LeastStarts,
    Length LeastDoubled,
    bool Optimal
);

/// <summary>One piece of the route, from point to point.</summary>
/// <param name="Kind">What the needle does.</param>
/// <param name="Path">The way in the direction of travel, inches; its numbers are the map's own, unrounded.</param>
/// <param name="Seam">Id of the seam that it runs along, or null for an added line.</param>
/// <param name="Block">Id of the block, or null.</param>
public sealed record Move(MoveKind Kind, Edge<ClothSpace> Path, string? Seam, string? Block)
{
    /// <summary>Which thread is in the needle, where two are used; otherwise null.</summary>
    public StitchThread? Thread { get; init; }

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}

/// <summary>What is stitched with one thread: each move begins where the last one ended.</summary>
public sealed record Run(IReadOnlyList<Move> Moves)
{
    /// <summary>Where the thread starts off the top, inches, beyond a raw edge at the first move's start; null where it does not.</summary>
    public Point<ClothSpace>? OffStart => PlaceOf("offStart");

    /// <summary>Where the thread ends off the top, inches, beyond a raw edge at the last move's end; null where it does not.</summary>
    public Point<ClothSpace>? OffEnd => PlaceOf("offEnd");

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;

    /// <summary>The run with its moves and its places off the top taken along.</summary>
    public Run Taken(Func<Move, Move> move, Func<Point<ClothSpace>, Point<ClothSpace>> place)
    {
        ArgumentNullException.ThrowIfNull(move);
        ArgumentNullException.ThrowIfNull(place);
        UnknownFields fields = Unknown;
        foreach ((string name, Point<ClothSpace>? at) in new[] { ("offStart", OffStart), ("offEnd", OffEnd) })
        {
            if (at is { } p && place(p) is var taken)
            {
                fields = fields.With(name, JsonSerializer.SerializeToElement(new[] { taken.X, taken.Y }));
            }
        }

        return this with
        {
            Moves = [.. Moves.Select(move)],
            Unknown = fields,
        };
    }

    private Point<ClothSpace>? PlaceOf(string name) =>
        Unknown.Values.TryGetValue(name, out JsonElement at)
        && at.ValueKind == JsonValueKind.Array
        && at.GetArrayLength() == 2
        && at[0].TryGetDouble(out double x)
        && at[1].TryGetDouble(out double y)
            ? new(x, y)
            : null;
}

/// <summary>A candidate's numbers.</summary>
/// <param name="Starts">Runs.</param>
/// <param name="Crossings">Proper crossings of two stitched lines, at points too; a retrace never counts.</param>
/// <param name="Doubled">Length stitched a second time.</param>
/// <param name="Stitched">Length of all moves, doubled and added ones included.</param>
/// <param name="Added">Length of added lines.</param>
/// <param name="Missed">Length of lines that were to be stitched and are not.</param>
/// <param name="Moves">Number of moves.</param>
public sealed record RouteMeasures(
    int Starts,
    int Crossings,
    Length Doubled,
    Length Stitched,
    Length Added,
    Length Missed,
    int Moves
);

/// <summary>What is proven about a candidate, for exactly its lines, added ones included.</summary>
/// <param name="OddJunctions">Junctions where an odd number of its lines meet, nothing retraced.</param>
/// <param name="LeastStarts">Sum over connected pieces of max(1, odd ÷ 2).</param>
/// <param name="LeastDoubled">Least retraced length of any route over these lines with no more runs.</param>
/// <param name="Optimal">The doubled length equals that, and the runs equal the least (or one thread was asked).</param>
public sealed record RouteProof(IReadOnlyList<string> OddJunctions, int LeastStarts, Length LeastDoubled, bool Optimal);

/// <summary>One proposed route.</summary>
/// <param name="Name">A letter: A is the recommended one.</param>
public sealed record RouteCandidate(string Name, IReadOnlyList<Run> Runs, RouteMeasures Measures, RouteProof Proof)
{
    /// <summary>What it does, in a few words ("arcs in the four corners, nothing twice"); or null.</summary>
    public string? Design { get; init; }

    /// <summary>For a route that was begun by hand: how it is finished; otherwise null.</summary>
    public RouteFinish? Finish { get; init; }

    /// <summary>Where two threads are used: each one's part, in the order stitched; otherwise empty.</summary>
    public IReadOnlyList<ThreadShare> Threads { get; init; } = [];

    /// <summary>The route said shortly; or null.</summary>
    public RouteCall? Call { get; init; }

    /// <summary>What the hands feel; or null.</summary>
    public RouteEase? Ease { get; init; }

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;

    /// <summary>All moves in order.</summary>
    public IEnumerable<Move> AllMoves => Runs.SelectMany(r => r.Moves);
}

/// <summary>Candidate routes, ranked, with the whole map that they were planned on.</summary>
public sealed record Route(QuiltMap Quilt, IReadOnlyList<RouteCandidate> Candidates)
{
    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;

    /// <summary>The candidate with this name, or the first where <paramref name="name"/> is null.</summary>
    /// <exception cref="InputException">There is no such candidate.</exception>
    public RouteCandidate CandidateOf(string? name)
    {
        if (Candidates.Count == 0)
        {
            throw new InputException("The route holds no candidate", "candidates", "Plan the route again.");
        }

        return name is null
            ? Candidates[0]
            : Candidates.FirstOrDefault(c => string.Equals(c.Name, name, StringComparison.OrdinalIgnoreCase))
                ?? throw new InputException(
                    $"The route has no candidate \"{name}\"",
                    "--candidate",
                    $"It has: {string.Join(", ", Candidates.Select(c => c.Name))}."
                );
    }
}
