using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Lays a new photograph's points on those of a known quilt. Equal blocks fit as well one row off, so every way in which a part
/// of the new points fits is followed: from one point and its neighbours outward, with a similarity that may stretch a little
/// the further it reaches, until all of both is compared.
/// </summary>
/// <remarks>
/// Cloth draws up by 2 to 4 %, unevenly: over 90 in a similarity is off by more than the points lie apart, while over a block
/// it is not. Time: anchors × known points for the start, and one fit for each ring of each way that fits.
/// </remarks>
public static class ClothRegistration
{
    private const int Anchors = 12;
    private const int Neighbours = 14;
    private const int MostGrown = 400;
    private const int LeastPoints = 8;
    private const double LeastShare = 0.5;

    // Turned farther than anyone stands: no more than a few hands and clamps may contradict, or another quilt fits by chance.
    private const double LeastShareTurned = 0.67;
    private const double UsualTurn = Math.PI / 6;

    /// <summary>All ways to lay the new photograph on the known quilt that its points do not contradict by themselves.</summary>
    /// <param name="known">The known quilt.</param>
    /// <param name="seen">What the new photograph shows, in its own frame, at true scale to a few percent.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>The ways, the best first; none where nothing fits; and whether the photograph fits better from behind.</returns>
    public static RegistrationAnswer Find(
        ClothScene<ClothSpace> known,
        ClothScene<SeenSpace> seen,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(known);
        ArgumentNullException.ThrowIfNull(seen);

        // Whoever photographs stands where she stood before; only where nothing fits so, the cloth is tried turned.
        List<Registration> found = Search(known, seen, UsualTurn, cancellation);
        if (found.Count == 0)
        {
            found = Search(known, seen, Math.PI, cancellation);
        }

        const double clearly = 1.25;
        List<Registration> behind = Search(known, seen.Mirrored(), UsualTurn, cancellation);
        bool mirrored =
            behind.Count > 0 && (found.Count == 0 || behind[0].Score > clearly * found[0].Score + LeastPoints / 2.0);
        return new(found, mirrored);
    }

    private static List<Registration> Search(
        ClothScene<ClothSpace> known,
        ClothScene<SeenSpace> seen,
        double turnLimit,
        CancellationToken cancellation
    )
    {
        List<Registration> found = [];
        if (seen.Marks.Count < LeastPoints || known.Marks.Count < LeastPoints)
        {
            return found;
        }

        RegistrationGrowth growth = new(known, seen);
        int grown = 0;
        foreach (int anchor in AnchorsOf(seen))
        {
            ClothMark<SeenSpace> from = seen.Marks[anchor];
            int[] near =
            [
                .. Enumerable
                    .Range(0, seen.Marks.Count)
                    .OrderBy(i => seen.Marks[i].At.DistanceTo(from.At))
                    .Take(Neighbours),
            ];
            for (int k = 0; k < known.Marks.Count && grown < MostGrown; k++)
            {
                cancellation.ThrowIfCancellationRequested();
                foreach (double turn in MarkDirections.Turns(from.Directions, known.Marks[k].Directions, turnLimit))
                {
                    if (
                        found.Exists(r => r.Holds(anchor, k, turn))
                        || growth.Start(anchor, k, turn, near) is not { } start
                    )
                    {
                        continue;
                    }

                    grown++;
                    if (
                        growth.Grow(start, from.At, near) is { } way
                        && way.Matches.Count >= LeastPoints
                        && way.Share >= (turnLimit > UsualTurn ? LeastShareTurned : LeastShare)
                        && !found.Exists(r => r.IsSameAs(way))
                    )
                    {
                        found.Add(way);
                    }
                }
            }
        }

        return [.. found.OrderByDescending(r => r.Score)];
    }

    // Points with many seams, spread over the photograph: the part that both show may lie in a corner of it.
    private static List<int> AnchorsOf(ClothScene<SeenSpace> seen)
    {
        List<int> able = [.. Enumerable.Range(0, seen.Marks.Count).Where(i => seen.Marks[i].Directions.Count > 2)];
        able = able.Count >= Anchors ? able : [.. Enumerable.Range(0, seen.Marks.Count)];
        Point<SeenSpace> middle = seen.Area.Center;
        List<int> chosen = [able.MinBy(i => seen.Marks[i].At.DistanceTo(middle))];
        while (chosen.Count < Math.Min(Anchors, able.Count))
        {
            chosen.Add(able.MaxBy(i => chosen.Min(c => seen.Marks[c].At.DistanceTo(seen.Marks[i].At))));
        }

        return chosen;
    }
}
