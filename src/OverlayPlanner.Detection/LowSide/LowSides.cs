using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>
/// Proposes the low side of every seam piece: from the light, by rules of pressing, or from one block that was taught.
/// </summary>
/// <remarks>
/// After pressing to one side both allowances lie under one patch, which then stands higher; the needle and the ruler go on the
/// other, low side. What the user told (<see cref="LowSideWords.User"/>) is never changed; the outline is left alone.
/// </remarks>
public static class LowSides
{
    /// <summary>A side that is less sure than this is not proposed.</summary>
    public const double LeastConfidence = 0.8;

    // The two parts of a seam that flips must be this much likelier apart than alike (natural logarithm), since many cuts are
    // tried and a seam that is split in vain costs more than one left whole.
    private const double FlipEvidence = 3.5;
    private const double FlipConfidence = 0.9;
    private const int LeastStretches = 3;

    /// <summary>
    /// The map with low sides. Rules are tried in order; the first that says something about a seam holds for it. A seam whose
    /// two parts surely have different low sides is split, which a finding says.
    /// </summary>
    /// <param name="map">The map.</param>
    /// <param name="rules">In order of preference; none leaves the map as it is.</param>
    /// <param name="rectified">The cloth from above, for <see cref="LowSideRule.Light"/>; null where there is none.</param>
    /// <param name="margin">Cloth that the picture shows beyond the mapped area on each side.</param>
    public static (QuiltMap Map, IReadOnlyList<Finding> Findings) Propose(
        QuiltMap map,
        IReadOnlyList<LowSideRule> rules,
        Picture? rectified = null,
        Length margin = default
    )
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(rules);
        List<Finding> findings = [];
        foreach (LowSideRule rule in rules)
        {
            if (rule != LowSideRule.Light)
            {
                map = PressingRules.Apply(map, rule);
            }
            else if (rectified is { PixelsPerInch: > 0 })
            {
                map = FromLight(map, rectified, margin.Inches, findings);
            }
        }

        return (map, findings);
    }

    private static QuiltMap FromLight(QuiltMap map, Picture picture, double margin, List<Finding> findings)
    {
        List<(int Seam, SeamProfile Profile)> seen = [];
        for (int i = 0; i < map.Seams.Count; i++)
        {
            Seam s = map.Seams[i];
            if (s.Role != SeamRole.Edge && SeamProfile.Of(map.EdgeOf(s), picture, margin) is { } profile)
            {
                seen.Add((i, profile));
            }
        }

        ShadedSeam[] shaded = [.. seen.Select(s => ShadedSeam.Of(s.Profile, 0, s.Profile.Stretches.Length))];
        if (LightReading.Of(shaded) is not { } reading)
        {
            return map;
        }

        Seam[] seams = [.. map.Seams];
        List<(Seam Seam, double At, Side First)> flips = [];
        for (int k = 0; k < seen.Count; k++)
        {
            Seam s = seams[seen[k].Seam];
            if (!PressingRules.IsFree(s))
            {
                continue;
            }

            if (FindFlip(seen[k].Profile, reading) is var (at, first))
            {
                flips.Add((s, at, first));
                continue;
            }

            (Side low, double sure) = reading.LowSideOf(shaded[k]);
            if (sure >= LeastConfidence)
            {
                seams[seen[k].Seam] = s with
                {
                    Ditch = low,
                    DitchWhy = LowSideWords.Light,
                    DitchConfidence = Math.Round(sure, 3),
                };
            }
        }

        map = map.With(seams: seams);
        return flips.Count == 0 ? map : Split(map, flips, findings);
    }

    // Where along a seam the low side changes, as a share of the way, and which side is low before; null where it does not.
    private static (double At, Side First)? FindFlip(SeamProfile profile, LightReading reading)
    {
        int n = profile.Stretches.Length;
        if (n < 2 * LeastStretches || reading.Step <= 0)
        {
            return null;
        }

        double best = FlipEvidence;
        (double, Side)? flip = null;
        for (int cut = LeastStretches; cut <= n - LeastStretches; cut++)
        {
            ShadedSeam before = ShadedSeam.Of(profile, 0, cut);
            ShadedSeam after = ShadedSeam.Of(profile, cut, n);
            double ll = reading.LogLikelihood(before, 1) + reading.LogLikelihood(after, 1);
            double rr = reading.LogLikelihood(before, -1) + reading.LogLikelihood(after, -1);
            double oo = reading.LogLikelihood(before, 0) + reading.LogLikelihood(after, 0);
            double alike = Math.Max(oo, Math.Max(ll, rr));
            foreach ((int side, Side first) in new[] { (1, Side.Left), (-1, Side.Right) })
            {
                double apart = reading.LogLikelihood(before, side) + reading.LogLikelihood(after, -side);
                if (apart - alike > best && IsSure(before, side) && IsSure(after, -side))
                {
                    best = apart - alike;
                    flip = (profile.From[cut], first);
                }
            }
        }

        return flip;

        bool IsSure(ShadedSeam part, int side)
        {
            (double left, double right) = reading.SidesOf(part);
            return (side > 0 ? left : right) >= FlipConfidence;
        }
    }

    private static QuiltMap Split(QuiltMap map, List<(Seam Seam, double At, Side First)> flips, List<Finding> findings)
    {
        List<Junction> junctions = [.. map.Junctions];
        HashSet<string> ids = [.. junctions.Select(j => j.Id)];
        int next = junctions.Count;
        foreach ((Seam seam, double at, Side first) in flips)
        {
            Point<ClothSpace> place = map.EdgeOf(seam).PointAt(at);
            string id;
            do
            {
                next++;
                id = "j" + next.ToString(CultureInfo.InvariantCulture);
            } while (!ids.Add(id));

            Length sigma = Length.FromInches(
                Math.Max(map.JunctionOf(seam.From).At.Sigma.Inches, map.JunctionOf(seam.To).At.Sigma.Inches)
            );
            junctions.Add(new(id, new(place, sigma)));
            findings.Add(
                new(
                    "low-side-flips",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"seam {seam.Id} near ({place.X:0.#}, {place.Y:0.#}) in"
                    ),
                    $"Its low side is the {Words(first)} before and the {Words(Other(first))} after; it was split there."
                )
            );
        }

        // Splitting, and finding patches again, is the map check's own work; colours and patches to leave alone are kept by it.
        QuiltMap split = MapCheck.Inspect(map.With(junctions: junctions)).Map;
        return split.With(
            seams:
            [
                .. split.Seams.Select(s =>
                {
                    (Seam whole, double at, Side first) = flips.Find(f =>
                        s.Id.StartsWith(f.Seam.Id + ".", StringComparison.Ordinal)
                    );
                    return whole is null
                        ? s
                        : s with
                        {
                            Ditch = s.From == whole.From ? first : Other(first),
                            DitchWhy = LowSideWords.Light,
                            DitchConfidence = 0.9,
                        };
                }),
            ],
            blocks: PatchFinder.Assign(split, map.Blocks)
        );
    }

    /// <summary>A finding that says how many low sides are known and why; null where the map has no seam inside.</summary>
    public static Finding? Summarize(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        Seam[] inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        string[] reasons =
        [
            .. inner
                .Where(s => s.DitchWhy is not null)
                .GroupBy(s => s.DitchWhy!)
                .OrderByDescending(g => g.Count())
                .Select(g => string.Create(CultureInfo.InvariantCulture, $"{g.Count()} by {g.Key}")),
        ];
        if (inner.Length == 0)
        {
            return null;
        }

        int known = inner.Count(s => s.DitchWhy is not null || s.Ditch is not null);
        return new(
            "low-sides",
            string.Create(
                CultureInfo.InvariantCulture,
                $"{known} of {inner.Length} seams{(reasons.Length > 0 ? ": " + string.Join(", ", reasons) : "")}"
            ),
            known == 0
                ? "The picture does not show which side is low; say how the top was pressed (--low-side dark, sashing, alternate, open)."
                : "Feel a few with a fingertip before you trust them; where nothing is said, nothing was seen."
        );
    }

    private static Side Other(Side side) => side == Side.Left ? Side.Right : Side.Left;

    private static string Words(Side side) => side == Side.Left ? "left" : "right";
}
