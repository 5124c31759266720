namespace OverlayPlanner.Calibration;

/// <summary>Compares the directions in which seams leave two points.</summary>
internal static class MarkDirections
{
    private const double Alike = 12 * Math.PI / 180;

    /// <summary>The angle in (−π, π].</summary>
    public static double Wrap(double angle) => Math.IEEERemainder(angle, 2 * Math.PI);

    /// <summary>How many of the first have their like among the second once they are turned.</summary>
    public static int Shared(IReadOnlyList<double> a, IReadOnlyList<double> b, double turn)
    {
        int shared = 0;
        foreach (double x in a)
        {
            foreach (double y in b)
            {
                if (Math.Abs(Wrap(y - x - turn)) < Alike)
                {
                    shared++;
                    break;
                }
            }
        }

        return shared;
    }

    /// <summary>True where the two may be one point: a seam may have been missed, but most must agree.</summary>
    public static bool MayBeOne(IReadOnlyList<double> a, IReadOnlyList<double> b, double turn) =>
        a.Count == 0
        || b.Count == 0
        || 2 * Shared(a, b, turn) >= Math.Min(a.Count, b.Count) + (a.Count > 2 && b.Count > 2 ? 1 : 0);

    /// <summary>The turns, up to a limit either way, that bring most directions of the first onto the second.</summary>
    public static IReadOnlyList<double> Turns(IReadOnlyList<double> a, IReadOnlyList<double> b, double limit)
    {
        if (a.Count == 0 || b.Count == 0)
        {
            return [0];
        }

        List<double> turns = [];
        foreach (double x in a)
        {
            foreach (double y in b)
            {
                double turn = Wrap(y - x);
                if (
                    Math.Abs(turn) > limit
                    || !MayBeOne(a, b, turn)
                    || turns.Exists(t => Math.Abs(Wrap(t - turn)) < Alike / 2)
                )
                {
                    continue;
                }

                double[] off =
                [
                    .. a.SelectMany(p => b.Select(q => Wrap(q - p - turn))).Where(d => Math.Abs(d) < Alike),
                ];
                turns.Add(turn + off.Average());
            }
        }

        return turns;
    }
}
