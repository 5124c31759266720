using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>
/// One block of a map or route, alone, as it lies on the cloth now, in the quilt's own inches: its neighbours keep the mapped
/// shape in the file that it was taken from.
/// </summary>
internal sealed class BlockAlone
{
    private readonly BlockStretch stretch;
    private readonly Block block;
    private readonly string file;

    private BlockAlone(QuiltMap map, Block block, BlockStretch stretch, string file)
    {
        (this.stretch, this.block, this.file) = (stretch, block, file);
        HashSet<string> patches = [.. block.Patches];
        Patch[] own = [.. map.Patches.Where(p => patches.Contains(p.Id))];
        HashSet<string> rings = [.. own.SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h)))];
        Seam[] seams = [.. map.Seams.Where(s => rings.Contains(s.Id))];
        HashSet<string> ends = [.. seams.SelectMany(s => new[] { s.From, s.To })];
        HashSet<string> sewn = [.. map.Seams.SelectMany(s => new[] { s.From, s.To })];
        Junction[] points =
        [
            .. map.Junctions.Where(j => ends.Contains(j.Id) || (!sewn.Contains(j.Id) && Holds(j.Place))),
        ];
        Map = new(
            map.Width,
            map.Height,
            [.. points.Select(Moved)],
            [.. seams.Select(s => Moved(map, s))],
            own,
            [OnClothField.Forget(block with { Corners = stretch.Now }, block.Corners)],
            map.Unknown
        );
    }

    /// <summary>The block's own points, seams and patches at their places now.</summary>
    public QuiltMap Map { get; }

    /// <summary>Takes it out of a map.</summary>
    /// <exception cref="InputException">The map says no patches of it.</exception>
    public static BlockAlone Of(QuiltMap map, Block block, BlockStretch stretch, string file) =>
        block.Patches.Count > 0
            ? new(map, block, stretch, file)
            : throw new InputException(
                $"The map names no patches of block {block.Id}, so nothing of it can be stretched",
                file,
                "Set its corners where its seams meet: mend --corners; or map the quilt again."
            );

    /// <summary>The same route on the cloth now.</summary>
    /// <exception cref="InputException">The route leaves the block.</exception>
    public Route Stretched(Route route, List<Finding> findings) =>
        route with
        {
            Quilt = Map,
            Candidates = [.. route.Candidates.Select(c => Stretched(c, findings))],
        };

    private RouteCandidate Stretched(RouteCandidate c, List<Finding> findings)
    {
        if (
            c.AllMoves.FirstOrDefault(m => m.Seam is { } s ? Map.FindSeam(s) is null : m.Block != block.Id) is
            { } outside
        )
        {
            throw new InputException(
                $"Candidate {c.Name} runs beyond block {block.Id}, over {outside.Seam ?? "block " + outside.Block}",
                file,
                $"Plan that block by itself, route quilt.json --block {block.Id}, and re-fit that route."
            );
        }

        Run[] runs = [.. c.Runs.Select(r => r with { Moves = [.. r.Moves.Select(Stretched)] })];
        Move[] moves = [.. runs.SelectMany(r => r.Moves)];
        double Sum(Func<Move, bool> which) => moves.Where(which).Sum(m => m.Path.Length);
        RouteMeasures measures = c.Measures with
        {
            Stitched = Length.FromInches(Sum(_ => true)),
            Doubled = Length.FromInches(Sum(m => m.Kind == MoveKind.Retrace)),
            Added = Length.FromInches(Sum(m => m.Kind is MoveKind.Arc or MoveKind.Line)),
        };

        // The proof's prices are the mapped lengths. Nothing doubled stays nothing doubled; of more than that, only a bound is left.
        bool doubled = measures.Doubled > Length.Zero;
        double least = moves.Zip(c.AllMoves, (now, was) => now.Path.Length / was.Path.Length).DefaultIfEmpty(1).Min();
        if (doubled && c.Proof.Optimal)
        {
            findings.Add(
                new(
                    "proof-is-of-mapped-shape",
                    $"candidate {c.Name}",
                    "Its backtracking was proven least for the mapped lengths; on the cloth now it is the same route, not proven anew."
                )
            );
        }

        UnknownFields unknown = c.Unknown;
        if (unknown.In("proof") is { Values.Count: > 0 } proof)
        {
            unknown = unknown.With(
                "proof",
                proof.With("certificate", JsonSerializer.SerializeToElement<object?>(null))
            );
        }

        return c with
        {
            Runs = runs,
            Measures = measures,
            Proof = c.Proof with
            {
                LeastDoubled = c.Proof.LeastDoubled * Math.Min(1, least),
                Optimal = c.Proof.Optimal && !doubled,
            },
            Finish = c.Finish is { } f ? f with { At = stretch.Apply(f.At) } : null,
            Unknown = unknown,
        };
    }

    private Move Stretched(Move move)
    {
        UnknownFields unknown = move.Unknown;
        if (unknown.Values.TryGetValue("stops", out JsonElement stops) && stops.ValueKind == JsonValueKind.Array)
        {
            unknown = unknown.With(
                "stops",
                JsonSerializer.SerializeToElement(
                    stops
                        .EnumerateArray()
                        .Select(p => stretch.Apply(new Point<ClothSpace>(p[0].GetDouble(), p[1].GetDouble())))
                        .Select(p => new[] { p.X, p.Y })
                        .ToArray()
                )
            );
        }

        return move with
        {
            Path = stretch.Apply(move.Path),
            Unknown = unknown,
        };
    }

    private bool Holds(Point<ClothSpace> at) =>
        Enumerable
            .Range(0, 4)
            .All(i => (block.Corners[(i + 1) % 4] - block.Corners[i]).Cross(at - block.Corners[i]) > 0);

    private Junction Moved(Junction j)
    {
        double fit = stretch.SigmaAt(j.Place).Inches;
        double was = j.At.Sigma.Inches;
        return j with { At = new(stretch.Apply(j.Place), Length.FromInches(Math.Sqrt(was * was + fit * fit))) };
    }

    private Seam Moved(QuiltMap map, Seam s) => s with { Bulge = stretch.Apply(map.EdgeOf(s)).Bulge };
}
