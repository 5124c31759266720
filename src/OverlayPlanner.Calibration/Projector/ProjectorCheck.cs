using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How far a projector's light falls from where the profile says it falls.</summary>
/// <param name="Marks">Marks measured, without those that lie off their neighbours.</param>
/// <param name="Within95">95 % of them fall within this of their place.</param>
/// <param name="Within95Pixels">The same, projector px.</param>
/// <param name="Worst">The greatest distance.</param>
/// <param name="WorstAt">Where on the cloth that is.</param>
/// <param name="ScalePercent">How much larger the light is than the inches say; negative where it is smaller.</param>
/// <param name="ByCards">
/// True where the cards of the calibration lie where they lay, so that a shift counts; false where shift and turn were taken out.
/// </param>
/// <param name="Findings">What a person should know.</param>
public sealed record ProjectorCheckResult(
    int Marks,
    Length Within95,
    double Within95Pixels,
    Length Worst,
    Point<ClothSpace> WorstAt,
    double ScalePercent,
    bool ByCards,
    IReadOnlyList<Finding> Findings
);

/// <summary>Closes the loop: marks thrown at predicted places on the cloth are photographed and measured again.</summary>
public static class ProjectorCheck
{
    // Beyond it cards were moved since the calibration.
    private static readonly Length CardMoved = Length.FromInches(0.125);

    /// <summary>Measures a photo of the profile's check picture.</summary>
    /// <param name="photos">By one camera; each shows cards, at least one the check picture.</param>
    /// <param name="profile">The profile that threw it.</param>
    /// <param name="wishes">Lens, tape distances and measured print.</param>
    /// <exception cref="InputException">The photos can't be used.</exception>
    public static ProjectorCheckResult Measure(
        IReadOnlyList<Photo> photos,
        ProjectorProfile profile,
        CardWishes wishes,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(photos);
        ArgumentNullException.ThrowIfNull(profile);
        ArgumentNullException.ThrowIfNull(wishes);
        (MarkField field, double side, Point<ClothSpace> origin) = ThrownPicture.CheckOf(profile);
        ThrownView view = ThrownView.Look(photos, field, "the check picture of this profile", wishes, ct);
        List<Finding> findings = [.. view.Findings];
        (Point<ClothSpace> Seen, Point<ClothSpace> Wanted)[] pairs =
        [
            .. view.Marks.Select(m =>
                (m.Cloth, new Point<ClothSpace>(origin.X + side * m.Mark.X, origin.Y + side * m.Mark.Y))
            ),
        ];
        bool byCards = false;
        Similarity<ClothSpace, ClothSpace> laid = ThrownView.Lay(pairs);
        if (ThrownView.LayOn(view.Plane, profile.Cards) is var (byThem, worst, misfit))
        {
            byCards = misfit < CardMoved;
            if (byCards)
            {
                laid = byThem;
            }
            else
            {
                findings.Add(
                    new(
                        "card-moved-since",
                        Text($"card {worst} lies {misfit.Inches:0.##} in from where it lay"),
                        "Shift and turn of the light can't be told from moved cards; its shape and scale are measured all the same."
                    )
                );
            }
        }
        else
        {
            findings.Add(
                new(
                    "no-card-of-the-calibration",
                    "fewer than two cards lie where they lay when the projector was calibrated",
                    "Shift and turn of the light are taken out; its shape and scale are measured all the same."
                )
            );
        }

        // A mark that a seam or a print's edge pulls aside says nothing of the light.
        bool[] kept = KeptOf(pairs, laid, profile);
        pairs = [.. pairs.Where((_, i) => kept[i])];
        double[] off = [.. pairs.Select(p => laid.Apply(p.Seen).DistanceTo(p.Wanted))];
        double[] pixels = [.. pairs.Select(p => profile.Apply(laid.Apply(p.Seen)).DistanceTo(profile.Apply(p.Wanted)))];
        Length within = Length.FromInches(Quantile(off));
        if (within > Length.FromInches(CardPriors.FlatnessInches) && view.Marks.All(m => !m.IsHeightMeasured))
        {
            findings.Add(
                new(
                    "seen-from-one-side",
                    "all photos were taken from one side",
                    "Cloth that sags counts as light off its place; add a photo from the other side of the frame to take it out."
                )
            );
        }

        int far = Enumerable.Range(0, off.Length).MaxBy(i => off[i]);
        return new(
            pairs.Length,
            within,
            Quantile(pixels),
            Length.FromInches(off[far]),
            pairs[far].Wanted,
            100 * (ScaleOf(pairs) - 1),
            byCards,
            findings
        );
    }

    private static bool[] KeptOf(
        (Point<ClothSpace> Seen, Point<ClothSpace> Wanted)[] pairs,
        Similarity<ClothSpace, ClothSpace> laid,
        ProjectorProfile profile
    )
    {
        ThrownMark[] marks =
        [
            .. pairs.Select(p => new ThrownMark(laid.Apply(p.Seen), profile.Apply(p.Wanted), PixelSpread.Round(1))),
        ];
        return ThrowFit.Solve(marks, profile.Width, profile.Height, BendOrder.Cubic) is { } smooth
            ? [.. smooth.Kept]
            : [.. marks.Select(_ => true)];
    }

    // Seen inches for each wanted inch: the scale of the similarity that fits best.
    private static double ScaleOf((Point<ClothSpace> Seen, Point<ClothSpace> Wanted)[] pairs)
    {
        double sx = pairs.Average(p => p.Seen.X);
        double sy = pairs.Average(p => p.Seen.Y);
        double wx = pairs.Average(p => p.Wanted.X);
        double wy = pairs.Average(p => p.Wanted.Y);
        double a = pairs.Sum(p => (p.Seen.X - sx) * (p.Wanted.X - wx) + (p.Seen.Y - sy) * (p.Wanted.Y - wy));
        double b = pairs.Sum(p => (p.Seen.Y - sy) * (p.Wanted.X - wx) - (p.Seen.X - sx) * (p.Wanted.Y - wy));
        double ww = pairs.Sum(p => (p.Wanted.X - wx) * (p.Wanted.X - wx) + (p.Wanted.Y - wy) * (p.Wanted.Y - wy));
        return Math.Sqrt(a * a + b * b) / ww;
    }

    private static double Quantile(double[] values) =>
        values.Order().ElementAt(Math.Min(values.Length - 1, (int)Math.Ceiling(0.95 * values.Length) - 1));

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
