using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A projector's profile from photos, with how well it fits and how far it can be trusted.</summary>
/// <param name="Profile">The profile.</param>
/// <param name="Marks">Marks measured.</param>
/// <param name="LeftOut">Those among them that disagreed and did not enter.</param>
/// <param name="RootMeanSquarePixels">Root mean square distance of the marks from where the profile puts them, projector px.</param>
/// <param name="RootMeanSquare">The same on the cloth.</param>
/// <param name="HeldOutPixels">The same for marks that the fit had not seen, projector px.</param>
/// <param name="HeldOutStraightPixels">What the homography alone leaves on marks it had not seen, projector px.</param>
/// <param name="Within95">
/// 95 % of what is thrown where the marks were falls within this of its place; cards, print, flatness and fit together.
/// </param>
/// <param name="Findings">What a person should know.</param>
public sealed record PhotographedProjector(
    ProjectorProfile Profile,
    int Marks,
    int LeftOut,
    double RootMeanSquarePixels,
    Length RootMeanSquare,
    double HeldOutPixels,
    double HeldOutStraightPixels,
    Length Within95,
    IReadOnlyList<Finding> Findings
);

/// <summary>Calibrates a projector from photos of its pattern among printed cards.</summary>
public static class ProjectorFromPhotos
{
    // A bend is kept where marks that the fit has not seen come nearer by this share (no source: below it the terms would change
    // from photo to photo).
    private const double Worthwhile = 0.97;

    // Cards are laid by tape to about this; beyond the second they are other cards or other places.
    private static readonly Length TapeDoubt = Length.FromInches(0.25);
    private static readonly Length TapeImpossible = Length.FromInches(1.5);

    /// <summary>Solves the profile.</summary>
    /// <param name="photos">By one camera; each shows cards, at least one the pattern.</param>
    /// <param name="width">Projector pixels across, as the pattern was made for.</param>
    /// <param name="height">Projector pixels down.</param>
    /// <param name="wishes">Lens, tape distances and measured print, as for a map.</param>
    /// <param name="places">
    /// Where cards lie in the quilt map's inches, two or more; where there are none, the inches are the cards' own.
    /// </param>
    /// <exception cref="InputException">The photos can't be used; says what, where and how to mend it.</exception>
    public static PhotographedProjector Solve(
        IReadOnlyList<Photo> photos,
        int width,
        int height,
        CardWishes wishes,
        IReadOnlyList<KnownCard> places,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(photos);
        ArgumentNullException.ThrowIfNull(wishes);
        ArgumentNullException.ThrowIfNull(places);
        (MarkField Field, double Side, double Left, double Top) pattern = ThrownPicture.PatternOf(width, height);
        ThrownView view = ThrownView.Look(
            photos,
            pattern.Field,
            Text($"the pattern for {width} × {height}"),
            wishes,
            ct
        );
        List<Finding> findings = [.. view.Findings];
        CardsPlane plane = Place(view.Plane, places, findings, out Similarity<ClothSpace, ClothSpace> moved);
        ThrownMark[] marks = Likelier(
            MarksOf(view, pattern, moved, m => m.Sharpness),
            MarksOf(view, pattern, moved, m => m.Spread),
            width,
            height
        );
        ct.ThrowIfCancellationRequested();
        ThrowFit straight = ThrowFit.Solve(marks, width, height, BendOrder.None) ?? throw NotFixed(photos[0]);

        // All models are held against the marks that the richest of them believes, so that a bend is not hidden by leaving out
        // what it bends.
        ThrowFit rich = ThrowFit.Solve(marks, width, height, BendOrder.Cubic) ?? straight;
        double heldOutStraight = ThrowFit.HeldOut(marks, rich.Kept, width, height, BendOrder.None);
        (BendOrder order, double heldOut) = (BendOrder.None, heldOutStraight);
        foreach (BendOrder tried in new[] { BendOrder.Radial, BendOrder.Cubic })
        {
            double held = ThrowFit.HeldOut(marks, rich.Kept, width, height, tried);
            if (held < Worthwhile * heldOut)
            {
                (order, heldOut) = (tried, held);
            }
        }

        ThrowFit fit = order == BendOrder.None ? straight : ThrowFit.Solve(marks, width, height, order) ?? straight;
        double bent = ThrowJudgement.BentInches(view, fit, marks);
        (double inches, Length within) = ThrowJudgement.Within(view, plane, fit, marks, heldOut, bent);
        ThrowJudgement.FindGaps(view, pattern.Field, findings);
        ThrowJudgement.FindSag(bent, findings);
        int leftOut = fit.Kept.Count(k => !k);
        if (leftOut > 0.2 * marks.Length)
        {
            findings.Add(
                new(
                    "marks-disagree",
                    Text($"{leftOut} of {marks.Length} marks lie off the others"),
                    "They were left out: the cloth is loose or folded there, or the projector moved between the photos."
                )
            );
        }

        return new(
            new(width, height, fit.Map)
            {
                Bend = fit.Bend,
                Cards = [.. plane.Cards.Where(c => c.Used).Select(c => new KnownCard(c.Card.Number, c.Middle))],
            },
            marks.Length,
            leftOut,
            fit.RootMeanSquarePixels,
            Length.FromInches(inches),
            heldOut,
            heldOutStraight,
            within,
            findings
        );
    }

    private static ThrownMark[] MarksOf(
        ThrownView view,
        (MarkField Field, double Side, double Left, double Top) pattern,
        Similarity<ClothSpace, ClothSpace> moved,
        Func<LitMark, PositionCovariance> spread
    )
    {
        // The homography alone is near enough to carry a covariance from the cloth into the picture.
        Homography<ProjectorSpace, ClothSpace>? near = HomographyFit.Fit([
            .. view.Marks.Select(m => (m.Cloth, ThrownPicture.PixelOf(m.Mark, pattern))),
        ]);
        return
        [
            .. view.Marks.Select(m => new ThrownMark(
                moved.Apply(m.Cloth),
                ThrownPicture.PixelOf(m.Mark, pattern),
                near is null ? PixelSpread.Round(1) : Carried(spread(m), near.DerivativeAt(m.Cloth))
            )),
        ];
    }

    // Whether the marks scatter as on flat cloth or along the lines of sight as on puffed cloth is left to the marks.
    private static ThrownMark[] Likelier(ThrownMark[] flat, ThrownMark[] puffed, int width, int height)
    {
        if (
            ThrowFit.Solve(flat, width, height, BendOrder.Cubic) is not { } onFlat
            || ThrowFit.Solve(puffed, width, height, BendOrder.Cubic) is not { } onPuffed
        )
        {
            return flat;
        }

        bool[] both = [.. onFlat.Kept.Zip(onPuffed.Kept, (a, b) => a && b)];
        return both.Any(k => k) && onPuffed.LogLikelihood(puffed, both) > onFlat.LogLikelihood(flat, both)
            ? puffed
            : flat;
    }

    private static PixelSpread Carried(PositionCovariance s, (double Xx, double Xy, double Yx, double Yy) d) =>
        new(
            d.Xx * d.Xx * s.Xx + 2 * d.Xx * d.Xy * s.Xy + d.Xy * d.Xy * s.Yy,
            d.Xx * d.Yx * s.Xx + (d.Xx * d.Yy + d.Xy * d.Yx) * s.Xy + d.Xy * d.Yy * s.Yy,
            d.Yx * d.Yx * s.Xx + 2 * d.Yx * d.Yy * s.Xy + d.Yy * d.Yy * s.Yy
        );

    private static CardsPlane Place(
        CardsPlane plane,
        IReadOnlyList<KnownCard> places,
        List<Finding> findings,
        out Similarity<ClothSpace, ClothSpace> moved
    )
    {
        moved = new(1, 0, 0, 0);
        string seen = string.Join(
            ", ",
            plane.Cards.Where(c => c.Used).Select(c => c.Card.Number.ToString(CultureInfo.InvariantCulture))
        );
        if (places.Count == 0)
        {
            findings.Add(
                new(
                    "inches-of-the-cards",
                    "the profile's inches start at the top left of what the photo shows, not at the quilt map's corner",
                    "Give the quilt map that was made with the same cards (--quilt quilt.json), or where two cards' middles lie on it (--at \"3=0,0 7=40,0\")."
                )
            );
            return plane;
        }

        if (ThrownView.LayOn(plane, places) is not var (laid, worst, misfit))
        {
            throw new InputException(
                "Fewer than two of the cards whose places are known are seen",
                "cards "
                    + string.Join(", ", places.Select(p => p.Number.ToString(CultureInfo.InvariantCulture)))
                    + " are known, seen are "
                    + seen,
                "Leave the cards where they lay for the map and photograph at least two of them."
            );
        }

        if (misfit > TapeImpossible)
        {
            throw new InputException(
                "The cards do not lie where they are said to lie",
                Text($"card {worst} is {misfit.Inches:0.#} in off"),
                "Check the cards' numbers and places; a card that was moved since the map was made can't be used."
            );
        }

        if (misfit > TapeDoubt)
        {
            findings.Add(
                new(
                    "card-place-doubtful",
                    Text($"card {worst} is {misfit.Inches:0.##} in from where it is said to lie"),
                    "Measure its place again, or lay the cards anew and map the quilt once more."
                )
            );
        }

        moved = laid;
        return plane.Moved(laid);
    }

    private static InputException NotFixed(Photo photo) =>
        new(
            "The marks do not fix the projector's map",
            photo.Name,
            "Photograph the whole pattern on flat cloth, the projector and the cloth at rest."
        );

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
