using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Why a card was left out.</summary>
internal enum MisfitReason
{
    /// <summary>Flat on the cloth but of another size: another print scale, or lifted as a whole.</summary>
    OtherSize,

    /// <summary>It stands aslant or on another level.</summary>
    Aslant,

    /// <summary>Two photos show it in two places.</summary>
    Moved,

    /// <summary>It is not flat.</summary>
    Curled,
}

/// <summary>How one card fits a plane that was solved without it.</summary>
/// <param name="Number">The card.</param>
/// <param name="Reason">Why it does not.</param>
/// <param name="RmsPixels">Root mean square of its corners' errors where it may only shift and turn, px, one axis.</param>
/// <param name="Size">Its size against the others'.</param>
internal sealed record CardMisfit(int Number, MisfitReason Reason, double RmsPixels, double Size)
{
    public static CardMisfit Explain(IReadOnlyList<CardPhoto> photos, CardAdjustment rest, CardKey key, TargetCard card)
    {
        double sigma = rest.SigmaPixels;
        List<int> seenIn =
        [
            .. Enumerable.Range(0, photos.Count).Where(p => CardAdjustment.Keyed(photos[p]).Any(k => k.Key == key)),
        ];
        (double flat, _) = Fit(photos, rest, key, seenIn, size: false, free: false);
        if (seenIn.Count > 1)
        {
            double each = seenIn.Max(p => Fit(photos, rest, key, [p], size: false, free: false).Rms);
            if (each < 0.5 * flat)
            {
                return new(key.Number, MisfitReason.Moved, flat, 1);
            }
        }

        (double sized, double scale) = Fit(photos, rest, key, seenIn, size: true, free: false);
        if (sized < Math.Max(2.5 * sigma, 0.35 * flat))
        {
            return new(key.Number, MisfitReason.OtherSize, flat, scale);
        }

        (double free, _) = Fit(photos, rest, key, seenIn, size: false, free: true);
        return new(
            key.Number,
            free < Math.Max(2.5 * sigma, 0.35 * flat) ? MisfitReason.Aslant : MisfitReason.Curled,
            flat,
            1
        );
    }

    public Finding ToFinding()
    {
        string card = string.Create(CultureInfo.InvariantCulture, $"card {Number}");
        return Reason switch
        {
            MisfitReason.OtherSize => new(
                "card-of-another-size",
                string.Create(CultureInfo.InvariantCulture, $"{card} looks {100 * Size:0.0} % as large as the others"),
                "It was left out: it was printed at another scale, or does not lie on the cloth. Print all cards on one printer at actual size."
            ),
            MisfitReason.Aslant => new(
                "card-lifted",
                card,
                "It was left out: it does not lie flat on the cloth. Press it down, or pin its corners."
            ),
            MisfitReason.Moved => new(
                "card-moved",
                card,
                "It was left out: it lies in another place in another photo. Leave the cards where they are until the last photo."
            ),
            _ => new(
                "card-curled",
                card,
                "It was left out: it is curled, creased or partly covered. Lay it flat, or glue it to stiff paper."
            ),
        };
    }

    private static (double Rms, double Size) Fit(
        IReadOnlyList<CardPhoto> photos,
        CardAdjustment rest,
        CardKey key,
        IReadOnlyList<int> seenIn,
        bool size,
        bool free
    )
    {
        LeastSquaresProblem problem = new();
        int camera = problem.AddGroup(rest.Camera);
        int print = problem.AddGroup(rest.Print);
        List<int> poses = [];
        foreach (int p in seenIn)
        {
            poses.Add(problem.AddGroup(rest.PoseOf(p)));
        }

        int place = -1;
        foreach ((int index, int p) in seenIn.Index())
        {
            foreach ((CardKey other, SeenPattern pattern) in CardAdjustment.Keyed(photos[p]))
            {
                if (other != key)
                {
                    continue;
                }

                if (place < 0)
                {
                    place = problem.AddGroup(Start(rest, p, pattern));
                }

                foreach ((Point<ClothSpace> on, Point<PhotoSpace> seen) in pattern.Corners)
                {
                    problem.Add(
                        new CardPointBlock(
                            camera,
                            poses[index],
                            place,
                            print,
                            pattern.Card.Kind == CardKind.Strip,
                            on.X,
                            on.Y,
                            seen.X,
                            seen.Y
                        )
                        {
                            Sigma = 1,
                        }
                    );
                }
            }
        }

        foreach (int group in poses.Prepend(camera))
        {
            for (int k = 0; k < problem.Values(group).Length; k++)
            {
                problem.Hold(group, k);
            }
        }

        for (int k = CardModel.Lift; k < CardModel.Size; k++)
        {
            problem.Hold(place, k, !free);
        }

        problem.Hold(print, 0, !size);
        problem.Hold(print, 1, !size);
        SolveReport report = problem.Solve(60, 1e-9);
        double n = problem.Blocks.Sum(b => b.Count);
        double scale = Math.Sqrt(problem.Values(print)[0] * problem.Values(print)[1] / (rest.Print[0] * rest.Print[1]));
        return (Math.Sqrt(2 * report.Cost / n), scale);
    }

    private static double[] Start(CardAdjustment rest, int photo, SeenPattern pattern)
    {
        BoardView view = new("", [.. pattern.Corners.Select(c => (c.OnCard, c.Seen))]);
        double[] pose = rest.PoseOf(photo);
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        if (LensSolver.SolvePose(view, rest.Camera) is not var (own, _))
        {
            return new double[CardModel.Size];
        }

        double[] o = new double[9];
        CameraModel.Rotation(own.AsSpan(0, 3), o, []);
        double depth =
            (r[2] * pose[3] + r[5] * pose[4] + r[8] * pose[5]) / (r[2] * own[3] + r[5] * own[4] + r[8] * own[5]);
        double[] p = [own[3] * depth - pose[3], own[4] * depth - pose[4], own[5] * depth - pose[5]];
        double x = r[0] * p[0] + r[3] * p[1] + r[6] * p[2];
        double y = r[1] * p[0] + r[4] * p[1] + r[7] * p[2];
        double right = r[0] * o[0] + r[3] * o[3] + r[6] * o[6];
        double down = r[1] * o[0] + r[4] * o[3] + r[7] * o[6];
        return [x, y, Math.Atan2(down, right), 0, 0, 0];
    }
}
