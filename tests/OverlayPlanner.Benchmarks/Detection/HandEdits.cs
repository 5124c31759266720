using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>What a person must mend in a found map until it is the true one.</summary>
/// <remarks>
/// An edit is a seam drawn in, a seam taken out, or a point moved. Pieces of one straight line that follow each other are one
/// seam: it is drawn, or taken out, with one stroke. A true piece is there where found seams run within the tolerance along
/// nine tenths of it; a found piece is right likewise. What is not there counts as moved where a found piece joins the same two
/// points, each at most <see cref="MoveReach"/> off: then the points are moved, and nothing is drawn. This is the least number
/// by those three moves alone, except that a person may see a cleverer way (one moved line for two strokes).
/// </remarks>
/// <param name="Missed">Seams to draw in: each had to be found with the needle down.</param>
/// <param name="False">Seams to take out.</param>
/// <param name="Moved">Points to move.</param>
public readonly record struct HandEdits(int Missed, int False, int Moved)
{
    /// <summary>How far off a point still is that point, in.</summary>
    public const double MoveReach = 0.5;

    private const int Samples = 19;
    private const double LeastShare = 0.9;
    private const double StraightCosine = 0.9962; // 5 degrees

    /// <summary>All edits.</summary>
    public int Total => Missed + False + Moved;

    /// <summary>Counts the edits that lead from the found map to the true one; the outline is given and needs none.</summary>
    public static HandEdits Between(QuiltMap found, QuiltMap truth, double tolerance = 0.125)
    {
        ArgumentNullException.ThrowIfNull(found);
        ArgumentNullException.ThrowIfNull(truth);
        Piece[] foundPieces = PiecesOf(found);
        Piece[] truePieces = PiecesOf(truth);
        bool[] there = [.. truePieces.Select(t => IsCovered(t.Path, foundPieces, tolerance))];
        bool[] right = [.. foundPieces.Select(f => IsCovered(f.Path, truePieces, tolerance))];
        Dictionary<string, double> off = [];
        for (int t = 0; t < truePieces.Length; t++)
        {
            for (int f = 0; f < foundPieces.Length && !there[t]; f++)
            {
                if (Ends(truePieces[t].Path, foundPieces[f].Path) is { } ends)
                {
                    there[t] = right[f] = true;
                    off[truePieces[t].From] = Math.Max(off.GetValueOrDefault(truePieces[t].From), ends.From);
                    off[truePieces[t].To] = Math.Max(off.GetValueOrDefault(truePieces[t].To), ends.To);
                }
            }
        }

        // A point whose seams are all there may have slid along one of them.
        for (int t = 0; t < truePieces.Length; t++)
        {
            foreach (string end in there[t] ? [truePieces[t].From, truePieces[t].To] : Array.Empty<string>())
            {
                if (off.ContainsKey(end))
                {
                    continue;
                }

                Point<ClothSpace> at = truth.JunctionOf(end).Place;
                bool whole = truePieces.Index().All(p => there[p.Index] || (p.Item.From != end && p.Item.To != end));
                double nearest = found.Junctions.Min(j => j.Place.DistanceTo(at));
                off[end] = whole && nearest <= MoveReach ? nearest : 0;
            }
        }

        return new(
            Strokes(truth, truePieces, there),
            Strokes(found, foundPieces, right),
            off.Values.Count(d => d > tolerance)
        );
    }

    private readonly record struct Piece(string From, string To, Edge<ClothSpace> Path, Box<ClothSpace> Box);

    private static Piece[] PiecesOf(QuiltMap map) =>
        [
            .. map
                .Seams.Where(s => s.Role != SeamRole.Edge)
                .Select(s =>
                {
                    Edge<ClothSpace> path = map.EdgeOf(s);
                    return new Piece(s.From, s.To, path, Box<ClothSpace>.Around(path.Flatten(0.02)));
                }),
        ];

    private static bool IsCovered(Edge<ClothSpace> path, Piece[] by, double tolerance)
    {
        // A seam that crosses covers no more of a piece than its own width.
        Box<ClothSpace> box = Box<ClothSpace>.Around(path.Flatten(0.02));
        Piece[] near =
        [
            .. by.Where(p =>
                p.Box.Left <= box.Right + tolerance
                && p.Box.Right >= box.Left - tolerance
                && p.Box.Top <= box.Bottom + tolerance
                && p.Box.Bottom >= box.Top - tolerance
            ),
        ];
        int covered = 0;
        for (int k = 0; k < Samples; k++)
        {
            Point<ClothSpace> at = path.PointAt((k + 0.5) / Samples);
            covered += near.Any(p => p.Path.Nearest(at).Distance <= tolerance) ? 1 : 0;
        }

        return covered >= LeastShare * Samples;
    }

    private static (double From, double To)? Ends(Edge<ClothSpace> truth, Edge<ClothSpace> found)
    {
        (double From, double To) same = (truth.From.DistanceTo(found.From), truth.To.DistanceTo(found.To));
        (double From, double To) turned = (truth.From.DistanceTo(found.To), truth.To.DistanceTo(found.From));
        (double From, double To) ends =
            Math.Max(same.From, same.To) <= Math.Max(turned.From, turned.To) ? same : turned;
        bool near =
            Math.Max(ends.From, ends.To) <= MoveReach
            && truth.PointAt(0.5).DistanceTo(found.PointAt(0.5)) <= MoveReach
            && truth.Chord > 2 * MoveReach;
        return near ? ends : null;
    }

    // Straight pieces that follow each other are one stroke, and each arc is one.
    private static int Strokes(QuiltMap map, Piece[] pieces, bool[] done)
    {
        int[] open = [.. Enumerable.Range(0, pieces.Length).Where(i => !done[i])];
        int strokes = open.Length;
        ILookup<string, int> around = open.SelectMany(i => new[] { (pieces[i].From, i), (pieces[i].To, i) })
            .ToLookup(e => e.Item1, e => e.i);
        foreach (IGrouping<string, int> at in around)
        {
            Point<ClothSpace> here = map.JunctionOf(at.Key).Place;
            HashSet<int> used = [];
            foreach (int a in at)
            {
                foreach (int b in at)
                {
                    if (a < b && !used.Contains(a) && !used.Contains(b) && RunsOn(pieces[a], pieces[b], at.Key, here))
                    {
                        used.Add(a);
                        used.Add(b);
                        strokes--;
                    }
                }
            }
        }

        return strokes;

        bool RunsOn(Piece a, Piece b, string end, Point<ClothSpace> here)
        {
            if (!a.Path.IsLine || !b.Path.IsLine)
            {
                return false;
            }

            Point<ClothSpace> pa = map.JunctionOf(a.From == end ? a.To : a.From).Place;
            Point<ClothSpace> pb = map.JunctionOf(b.From == end ? b.To : b.From).Place;
            return (pa - here).Unit.Dot((pb - here).Unit) < -StraightCosine;
        }
    }
}
