namespace OverlayPlanner.Detection.Structure;

/// <summary>Where three or more regions meet, in pixels.</summary>
internal readonly record struct BorderPoint(double X, double Y, bool OnOutline);

/// <summary>The border of two regions from one point to another, as the middles of the pixel sides between them.</summary>
internal sealed record BorderChain(int From, int To, IReadOnlyList<(double X, double Y)> Middles);

/// <summary>Reads the borders of labelled regions as a graph, along the cracks between pixels.</summary>
/// <remarks>
/// A border that meets no other (an island) has no point and is left out: pieced seams hang together. O(n) for n pixels.
/// </remarks>
internal static class BorderTracer
{
    /// <summary>The points and the borders between regions inside the mapped area.</summary>
    public static (List<BorderPoint> Points, List<BorderChain> Chains) Trace(int[] labels, int w, int h)
    {
        // Vertex (x, y) is the top-left corner of pixel (x, y): pixel coordinates (x − 0.5, y − 0.5).
        int stride = w + 1;
        int[] pointAt = new int[stride * (h + 1)];
        Array.Fill(pointAt, -1);
        List<BorderPoint> points = [];
        for (int y = 0; y <= h; y++)
        {
            for (int x = 0; x <= w; x++)
            {
                int degree = 0;
                int inner = 0;
                for (int d = 0; d < 4; d++)
                {
                    (int a, int b) = Sides(x, y, d);
                    degree += a != b ? 1 : 0;
                    inner += IsInner(a, b) ? 1 : 0;
                }

                if (degree >= 3 && inner > 0)
                {
                    pointAt[y * stride + x] = points.Count;
                    points.Add(new(x - 0.5, y - 0.5, inner < degree));
                }
            }
        }

        HashSet<(int Vertex, int Direction)> walked = [];
        List<BorderChain> chains = [];
        for (int start = 0; start < pointAt.Length; start++)
        {
            if (pointAt[start] < 0)
            {
                continue;
            }

            for (int d = 0; d < 4; d++)
            {
                (int x, int y) = (start % stride, start / stride);
                (int a, int b) = Sides(x, y, d);
                if (!IsInner(a, b) || !walked.Add((start, d)))
                {
                    continue;
                }

                List<(double, double)> middles = [];
                int direction = d;
                while (true)
                {
                    (int dx, int dy) = Step(direction);
                    middles.Add((x + dx / 2.0 - 0.5, y + dy / 2.0 - 0.5));
                    x += dx;
                    y += dy;
                    int back = direction ^ 2;
                    if (pointAt[y * stride + x] >= 0)
                    {
                        walked.Add((y * stride + x, back));
                        break;
                    }

                    for (int next = 0; next < 4; next++)
                    {
                        (int p, int q) = Sides(x, y, next);
                        if (next != back && p != q)
                        {
                            direction = next;
                            break;
                        }
                    }
                }

                chains.Add(new(pointAt[start], pointAt[y * stride + x], middles));
            }
        }

        return (points, chains);

        // Directions: 0 right, 1 down, 2 left, 3 up; the two pixels on either side of that crack.
        (int A, int B) Sides(int x, int y, int direction) =>
            direction switch
            {
                0 => (Label(x, y - 1), Label(x, y)),
                1 => (Label(x - 1, y), Label(x, y)),
                2 => (Label(x - 1, y - 1), Label(x - 1, y)),
                _ => (Label(x - 1, y - 1), Label(x, y - 1)),
            };

        int Label(int x, int y) => x < 0 || y < 0 || x >= w || y >= h ? Basins.Outside : labels[y * w + x];

        static bool IsInner(int a, int b) => a != b && a != Basins.Outside && b != Basins.Outside;

        static (int Dx, int Dy) Step(int direction) =>
            direction switch
            {
                0 => (1, 0),
                1 => (0, 1),
                2 => (-1, 0),
                _ => (0, -1),
            };
    }
}
