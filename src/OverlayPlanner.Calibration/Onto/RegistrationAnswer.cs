namespace OverlayPlanner.Calibration;

/// <summary>The ways in which a new photograph fits a known quilt.</summary>
public sealed class RegistrationAnswer
{
    // What fits a far smaller part is a chance likeness at a corner, not a place.
    private const double LeastPart = 0.3;
    private const int LeastPoints = 12;

    internal RegistrationAnswer(IReadOnlyList<Registration> ways, bool mirrored)
    {
        Ways = ways;
        IsMirrored = mirrored;
    }

    /// <summary>All ways that fit by themselves, the best first.</summary>
    public IReadOnlyList<Registration> Ways { get; }

    /// <summary>True where the photograph fits clearly better from behind: it is mirrored.</summary>
    public bool IsMirrored { get; }

    /// <summary>
    /// What is left when each way that another one disproves is taken out: one where the photograph settles it, several where
    /// nothing in it tells them apart, none where nothing fits.
    /// </summary>
    /// <param name="allowed">What the user said, as a condition; null where nothing was said.</param>
    public IReadOnlyList<Registration> Possible(Func<Registration, bool>? allowed = null)
    {
        Registration[] ways = [.. Ways.Where(w => allowed is null || allowed(w))];
        if (ways.Length == 0)
        {
            return [];
        }

        int most = ways.Max(w => w.Matches.Count);
        Registration[] credible =
        [
            .. ways.Where(w => w.Matches.Count >= Math.Max(LeastPart * most, Math.Min(LeastPoints, most))),
        ];
        return [.. credible.Where(w => !Array.Exists(credible, o => o != w && o.Beats(w)))];
    }
}
