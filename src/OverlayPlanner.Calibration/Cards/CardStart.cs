using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Where the adjustment starts: each card's pose by itself, their mean plane, and the cards' middles where the lines of sight
/// meet it; further photos by the cards that they share with those placed before.
/// </summary>
internal static class CardStart
{
    public static (IReadOnlyList<double[]> Poses, IReadOnlyDictionary<CardKey, double[]> Places)? Find(
        IReadOnlyList<CardPhoto> photos,
        IReadOnlyDictionary<CardKey, TargetCard> cards,
        double[] camera,
        double[] print
    )
    {
        Dictionary<CardKey, List<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)>>[] seen =
        [
            .. photos.Select(p => Collect(p, cards, print)),
        ];
        double[]?[] poses = new double[photos.Count][];
        Dictionary<CardKey, double[]> places = [];
        CardKey first = cards.Keys.First();
        int begin = Array.FindIndex(seen, s => s.ContainsKey(first));
        if (begin < 0 || PlaceFirst(seen[begin], first, camera, places) is not { } pose)
        {
            return null;
        }

        poses[begin] = pose;
        while (poses.Any(p => p is null))
        {
            int next = Enumerable
                .Range(0, photos.Count)
                .Where(p => poses[p] is null)
                .MaxBy(p => seen[p].Keys.Count(places.ContainsKey));
            List<(Point<ClothSpace>, Point<PhotoSpace>)> shared = [];
            foreach ((CardKey key, List<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)> points) in seen[next])
            {
                if (places.TryGetValue(key, out double[]? place))
                {
                    shared.AddRange(points.Select(p => (OnCloth(place, p.Board), p.Seen)));
                }
            }

            if (
                shared.Count == 0
                || LensSolver.SolvePose(new(photos[next].Name, shared), camera) is not var (solved, _)
            )
            {
                return null;
            }

            poses[next] = solved;
            double[] r = new double[9];
            CameraModel.Rotation(solved.AsSpan(0, 3), r, []);
            PlaceOthers(seen[next], r, [solved[3], solved[4], solved[5]], camera, places);
        }

        return places.Count == cards.Count ? ([.. poses.Select(p => p!)], places) : null;
    }

    private static Dictionary<CardKey, List<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)>> Collect(
        CardPhoto photo,
        IReadOnlyDictionary<CardKey, TargetCard> cards,
        double[] print
    )
    {
        Dictionary<CardKey, List<(Point<ClothSpace>, Point<PhotoSpace>)>> seen = [];
        foreach ((CardKey key, SeenPattern pattern) in CardAdjustment.Keyed(photo))
        {
            if (!cards.ContainsKey(key))
            {
                continue;
            }

            if (!seen.TryGetValue(key, out List<(Point<ClothSpace>, Point<PhotoSpace>)>? points))
            {
                points = [];
                seen[key] = points;
            }

            int across = pattern.Card.Kind == CardKind.Strip ? 1 : 0;
            points.AddRange(
                pattern.Corners.Select(c =>
                    (new Point<ClothSpace>(c.OnCard.X * print[across], c.OnCard.Y * print[1 - across]), c.Seen)
                )
            );
        }

        return seen;
    }

    private static double[]? PlaceFirst(
        Dictionary<CardKey, List<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)>> seen,
        CardKey first,
        double[] camera,
        Dictionary<CardKey, double[]> places
    )
    {
        Dictionary<CardKey, double[]> own = [];
        double[] normal = [0, 0, 0];
        foreach ((CardKey key, List<(Point<ClothSpace>, Point<PhotoSpace>)> points) in seen)
        {
            if (LensSolver.SolvePose(new("", points), camera) is not var (pose, _))
            {
                return null;
            }

            own[key] = pose;
            double[] r = new double[9];
            CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
            normal = [normal[0] + r[2], normal[1] + r[5], normal[2] + r[8]];
        }

        // The cards' middles lie on the plane too; far apart they tell it better than the cards' own tilts.
        double[] n = MiddlesNormal([.. own.Values.Select(p => p[3..])], Unit(normal)) ?? Unit(normal);
        double[] at = own[first][3..];
        double[] firstRotation = new double[9];
        CameraModel.Rotation(own[first].AsSpan(0, 3), firstRotation, []);
        double[] x = [firstRotation[0], firstRotation[3], firstRotation[6]];
        double along = Dot(x, n);
        x = Unit([x[0] - along * n[0], x[1] - along * n[1], x[2] - along * n[2]]);
        double[] y = [n[1] * x[2] - n[2] * x[1], n[2] * x[0] - n[0] * x[2], n[0] * x[1] - n[1] * x[0]];
        double[] rotation = [x[0], y[0], n[0], x[1], y[1], n[1], x[2], y[2], n[2]];
        double[] w = CameraModel.RotationVector(rotation);
        places[first] = new double[CardModel.Size];
        PlaceOthers(seen, rotation, at, camera, places);
        return [w[0], w[1], w[2], at[0], at[1], at[2]];
    }

    /// <summary>
    /// Normal of the plane through the middles, where they spread over an area; weighed against the mean of the cards' own
    /// normals, which settles a tie.
    /// </summary>
    private static double[]? MiddlesNormal(IReadOnlyList<double[]> middles, double[] mean)
    {
        if (middles.Count < 4)
        {
            return null;
        }

        double[] c = [middles.Average(m => m[0]), middles.Average(m => m[1]), middles.Average(m => m[2])];
        double[,] scatter = new double[3, 3];
        double spread = 0;
        foreach (double[] m in middles)
        {
            for (int i = 0; i < 3; i++)
            {
                spread += (m[i] - c[i]) * (m[i] - c[i]);
                for (int j = 0; j < 3; j++)
                {
                    scatter[i, j] += (m[i] - c[i]) * (m[j] - c[j]);
                }
            }
        }

        (double[] v, _, double next) = Matrices.LeastEigenvector(scatter);
        double cos = Dot(v, mean);

        // On a line, or so far from the cards' own tilts that depth is not to be trusted.
        return next < 0.02 * spread || Math.Abs(cos) < 0.97 ? null
            : cos < 0 ? [-v[0], -v[1], -v[2]]
            : v;
    }

    private static void PlaceOthers(
        Dictionary<CardKey, List<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)>> seen,
        double[] r,
        double[] at,
        double[] camera,
        Dictionary<CardKey, double[]> places
    )
    {
        double[] x = [r[0], r[3], r[6]];
        double[] y = [r[1], r[4], r[7]];
        double[] n = [r[2], r[5], r[8]];
        foreach ((CardKey key, List<(Point<ClothSpace>, Point<PhotoSpace>)> points) in seen)
        {
            if (places.ContainsKey(key) || LensSolver.SolvePose(new("", points), camera) is not var (pose, _))
            {
                continue;
            }

            double[] t = pose[3..];
            double reach = Dot(n, at) / Dot(n, t);
            double[] p = [t[0] * reach - at[0], t[1] * reach - at[1], t[2] * reach - at[2]];
            double[] own = new double[9];
            CameraModel.Rotation(pose.AsSpan(0, 3), own, []);
            double[] right = [own[0], own[3], own[6]];
            places[key] = [Dot(x, p), Dot(y, p), Math.Atan2(Dot(y, right), Dot(x, right)), 0, 0, 0];
        }
    }

    private static Point<ClothSpace> OnCloth(double[] place, Point<ClothSpace> board)
    {
        double c = Math.Cos(place[CardModel.Turn]);
        double s = Math.Sin(place[CardModel.Turn]);
        return new(place[CardModel.X] + c * board.X - s * board.Y, place[CardModel.Y] + s * board.X + c * board.Y);
    }

    private static double Dot(double[] a, double[] b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

    private static double[] Unit(double[] v)
    {
        double n = Math.Sqrt(Dot(v, v));
        return [v[0] / n, v[1] / n, v[2] / n];
    }
}
