using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How far a projector's map can be trusted, and what of that a person should know.</summary>
internal static class ThrowJudgement
{
    /// <summary>Root mean square distance of the marks that entered, in, and within what 95 % of the light falls.</summary>
    public static (double Inches, Length Within) Within(
        ThrownView view,
        CardsPlane plane,
        ThrowFit fit,
        ThrownMark[] marks,
        double heldOutPixels,
        double bentInches
    )
    {
        double squares = 0;
        int kept = 0;
        List<Length> sigmas = [];
        for (int i = 0; i < marks.Length; i++)
        {
            if (!fit.Kept[i])
            {
                continue;
            }

            (double xx, double xy, double yx, double yy) = fit.Map.DerivativeAt(marks[i].Cloth);
            double perPixel = 1 / Math.Sqrt(Math.Abs(xx * yy - xy * yx));
            squares += Math.Pow(perPixel * fit.Apply(marks[i].Cloth).DistanceTo(marks[i].Projector), 2);
            kept++;
            (double vx, _, double vy) = fit.CovarianceAt(marks[i].Cloth);
            PositionCovariance cloth = plane.CovarianceAt(
                view.Marks[i].Photo,
                marks[i].Cloth,
                view.Marks[i].HeightSigma
            );

            // Between the marks light lies off the map as far as marks do that it had not seen; and a bend seen from one side may
            // be none.
            double fitted = vx + vy + heldOutPixels * heldOutPixels;
            double variance = (cloth.Xx + cloth.Yy + perPixel * perPixel * fitted) / 2 + bentInches * bentInches;
            sigmas.Add(Length.FromInches(Math.Sqrt(variance)));
        }

        return (Math.Sqrt(squares / Math.Max(1, kept)), CardsPlane.ErrorWithin(sigmas));
    }

    /// <summary>Says which quarters of the picture are known by the others alone.</summary>
    public static void FindGaps(ThrownView view, MarkField field, List<Finding> findings)
    {
        List<string> empty = [];
        foreach ((bool right, bool low) in new[] { (false, false), (true, false), (true, true), (false, true) })
        {
            int seen = view
                .Marks.Select(m => m.Mark)
                .Count(m => m.X > field.Across / 2.0 == right && m.Y > field.Down / 2.0 == low);
            if (seen < field.Corners.Count / 16)
            {
                empty.Add((low ? "lower " : "upper ") + (right ? "right" : "left"));
            }
        }

        if (empty.Count > 0)
        {
            findings.Add(
                new(
                    "marks-missing",
                    "hardly a mark is seen in the projector's " + string.Join(", ", empty),
                    "The error grows there: photograph the whole picture, or add a photo of that part."
                )
            );
        }
    }

    /// <summary>
    /// The most that a bend moves a mark's light, in, where it was seen from one side: cloth that sags looks bent as well. 0
    /// where nothing is bent, or photos from two sides measured the cloth's height.
    /// </summary>
    public static double BentInches(ThrownView view, ThrowFit fit, ThrownMark[] marks)
    {
        if (fit.Bend is not { } bend || view.Marks.Count(m => m.IsHeightMeasured) > view.Marks.Count / 2)
        {
            return 0;
        }

        return marks.Max(m =>
        {
            Point<ProjectorSpace> straight = fit.Map.Apply(m.Cloth);
            (double xx, double xy, double yx, double yy) = fit.Map.DerivativeAt(m.Cloth);
            return bend.Apply(straight).DistanceTo(straight) / Math.Sqrt(Math.Abs(xx * yy - xy * yx));
        });
    }

    /// <summary>Says that a bend may be a sag.</summary>
    public static void FindSag(double bentInches, List<Finding> findings)
    {
        if (bentInches > CardPriors.FlatnessInches)
        {
            findings.Add(
                new(
                    "bent-or-sagging",
                    Text($"the light is bent by up to {bentInches:0.00} in, as seen from one side"),
                    "A lens bends it so, and so does cloth that sags; add a photo from the other side of the frame, and the two are told apart."
                )
            );
        }
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
