namespace OverlayPlanner.Routing.Designs;

/// <summary>One way to treat a class of like patches.</summary>
/// <param name="Parity">Bit j is set where it turns the parity of junction orbit j.</param>
/// <param name="Inches">Length of its lines together.</param>
/// <param name="Orbits">The orbits of lines that it takes.</param>
internal sealed record PatchTreatment(ulong Parity, double Inches, IReadOnlyList<int> Orbits);

/// <summary>
/// Chooses a treatment for each class of like patches: for every parity that can be reached, the shortest lines that reach it.
/// </summary>
/// <remarks>
/// Lines of two patches never get in each other's way, so the classes are independent but for the parity, and dynamic
/// programming over the parities is exact for the treatments given, as long as no more parities stay open than are kept.
/// Time is the classes times their treatments times the parities kept.
/// </remarks>
internal static class AlikeChoice
{
    private const int MostParities = 300;

    /// <summary>The shortest choice for each parity reached, those with the fewest odd junctions first.</summary>
    /// <param name="start">Parity without any line.</param>
    /// <param name="classes">For each class its treatments; the empty one is among them where the class may be left alone.</param>
    /// <param name="oddOf">How many junctions are odd at a parity.</param>
    public static IReadOnlyList<PatchTreatment> Reach(
        ulong start,
        IReadOnlyList<IReadOnlyList<PatchTreatment>> classes,
        Func<ulong, int> oddOf
    )
    {
        Dictionary<ulong, PatchTreatment> reached = new() { [start] = new(start, 0, []) };
        foreach (IReadOnlyList<PatchTreatment> treatments in classes)
        {
            Dictionary<ulong, PatchTreatment> next = [];
            foreach (PatchTreatment before in reached.Values)
            {
                foreach (PatchTreatment t in treatments)
                {
                    ulong parity = before.Parity ^ t.Parity;
                    double inches = before.Inches + t.Inches;
                    if (!next.TryGetValue(parity, out PatchTreatment? known) || inches < known.Inches - 1e-9)
                    {
                        next[parity] = new(parity, inches, [.. before.Orbits, .. t.Orbits]);
                    }
                }
            }

            reached =
                next.Count <= MostParities
                    ? next
                    : next
                        .Values.OrderBy(s => oddOf(s.Parity))
                        .ThenBy(s => s.Inches)
                        .ThenBy(s => s.Parity)
                        .Take(MostParities)
                        .ToDictionary(s => s.Parity);
        }

        return [.. reached.Values.OrderBy(s => oddOf(s.Parity)).ThenBy(s => s.Inches).ThenBy(s => s.Parity)];
    }
}
