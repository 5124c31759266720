using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing;

/// <summary>Plans the stops, needle down, at which a ruler or the hand on it is moved along a line.</summary>
/// <remarks>
/// In the route file an arc's move has <c>ruler</c> (its name) and <c>side</c> (<c>outside</c> or <c>inside</c>: the edge that
/// the foot runs along). A move on which the ruler is moved has <c>stops</c>: the places <c>[x, y]</c> in order of travel; one
/// at a point stands on the move that ends there. The candidate has <c>rulerStops</c>, their number, and <c>rulers</c>, the
/// curved rulers that it takes.
/// </remarks>
internal static class RulerStops
{
    // What a hand holds over the end of its reach (a hair; no source).
    private const double Over = 0.01;

    /// <summary>The fields of a move with the ruler that makes it.</summary>
    public static UnknownFields NameOn(UnknownFields fields, Ruler? ruler) =>
        ruler is null ? fields : fields.With("ruler", ruler.Name).With("side", ruler.EdgeWord);

    /// <summary>The candidate with its stops; no placement of a ruler is longer than the ruler or the hand's reach.</summary>
    public static RouteCandidate Plan(QuiltMap map, RouteCandidate candidate, RouteWishes wishes)
    {
        Dictionary<(string, string), double> usable = [];
        foreach (Ruler r in wishes.Rulers ?? Ruler.GenericSet)
        {
            usable[(r.Name, r.EdgeWord)] = r.UsableLength.Inches;
        }

        double reach = wishes.Reach.Inches;
        double straight = wishes.StraightRulers is { Count: > 0 } own
            ? Math.Min(reach, own.Max(r => r.UsableLength.Inches))
            : reach;
        List<Move>[] runs = [.. candidate.Runs.Select(r => r.Moves.ToList())];
        SortedSet<string> rulers = new(StringComparer.Ordinal);
        int count = 0;
        foreach (StitchStep step in StitchStep.Of(map, candidate))
        {
            double limit = straight;
            if (RulerOf(step.Moves[0]) is { } ruler)
            {
                limit = Math.Min(reach, usable.GetValueOrDefault(ruler, reach));
                rulers.Add($"{ruler.Name}, {ruler.Side}");
            }

            double[] ends = new double[step.Moves.Count];
            double length = 0;
            for (int m = 0; m < ends.Length; m++)
            {
                length += step.Moves[m].Path.Length;
                ends[m] = length;
            }

            double before = 0;
            List<double> places = Places(length, limit, ends);
            count += places.Count;
            for (int m = 0; m < ends.Length && places.Count > 0; m++)
            {
                double from = before;
                Edge<ClothSpace> path = step.Moves[m].Path;
                Point<ClothSpace>[] here =
                [
                    .. places
                        .Where(p => p > from + 1e-9 && p <= ends[m] + 1e-9)
                        .Select(p => path.PointAt((p - from) / (ends[m] - from))),
                ];
                before = ends[m];
                if (here.Length > 0)
                {
                    Move move = runs[step.Run][step.FirstMove + m];
                    runs[step.Run][step.FirstMove + m] = move with
                    {
                        Unknown = move.Unknown.With(
                            "stops",
                            JsonSerializer.SerializeToElement(here.Select(p => new[] { p.X, p.Y }).ToArray())
                        ),
                    };
                }
            }
        }

        UnknownFields fields = candidate.Unknown.With("rulerStops", count);
        return candidate with
        {
            Runs = [.. candidate.Runs.Select((r, i) => r with { Moves = runs[i] })],
            Unknown = rulers.Count == 0 ? fields : fields.With("rulers", JsonSerializer.SerializeToElement(rulers)),
        };
    }

    /// <summary>How many stops a candidate has that <see cref="Plan"/> has gone over.</summary>
    public static int CountOf(RouteCandidate candidate) =>
        candidate.Unknown.Values.TryGetValue("rulerStops", out JsonElement e) ? e.GetInt32() : 0;

    private static (string Name, string Side)? RulerOf(Move move) =>
        move.Unknown.Values.TryGetValue("ruler", out JsonElement name)
        && move.Unknown.Values.TryGetValue("side", out JsonElement side)
            ? (name.GetString()!, side.GetString()!)
            : null;

    /// <summary>
    /// Where to stop along a length: as few stops as can be, at a point where one lies within what the limit leaves, else
    /// evenly.
    /// </summary>
    internal static List<double> Places(double length, double limit, IReadOnlyList<double> points)
    {
        List<double> places = [];
        if (!(limit > 0) || length <= limit + Over)
        {
            return places;
        }

        int pieces = (int)Math.Ceiling((length - Over) / limit);
        double at = 0;
        for (int k = 1; k < pieces; k++)
        {
            // Not before the rest can be done with the pieces that are left; not beyond the reach.
            double least = Math.Max(at + Over, length - (limit + Over) * (pieces - k));
            double most = Math.Min(length - Over, at + limit + Over);
            double even = Math.Clamp(length * k / pieces, least, most);
            double stop = points
                .Where(p => p >= least && p <= most)
                .OrderBy(p => Math.Abs(p - even))
                .FirstOrDefault(even);
            places.Add(stop);
            at = stop;
        }

        return places;
    }
}
