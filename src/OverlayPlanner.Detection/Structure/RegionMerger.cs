using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Joins basins across borders that show no seam, weakest border first.</summary>
/// <remarks>
/// The hierarchy is the ultrametric contour map of P. Arbeláez, M. Maire, C. Fowlkes and J. Malik, "Contour detection and
/// hierarchical image segmentation" (2011), with the mean probability along a border as its strength. What remains is closed
/// by construction, T-junctions included. O(m log m) for m borders.
/// </remarks>
internal static class RegionMerger
{
    /// <summary>
    /// Joins until every border's mean seam probability is at least <paramref name="leastStrength"/>; then joins what is too
    /// thin to be a patch. Relabels in place.
    /// </summary>
    /// <param name="labels">Labels from <see cref="Basins.Flood"/>.</param>
    /// <param name="thinPixels">A region that holds no disc of this radius is no patch.</param>
    public static void Merge(EvidenceMap evidence, int[] labels, int count, double leastStrength, double thinPixels)
    {
        Joiner joiner = new(evidence, labels, count);
        joiner.JoinWeakBorders(leastStrength);
        joiner.Relabel(labels);
        for (int pass = 0; pass < 3; pass++)
        {
            double[] thickness = ThicknessOf(labels, evidence.Width, evidence.Height, count);
            if (!joiner.JoinThin(thickness, thinPixels))
            {
                break;
            }

            joiner.Relabel(labels);
        }
    }

    // Radius of the largest disc inside each region, pixels.
    private static double[] ThicknessOf(int[] labels, int w, int h, int count)
    {
        byte[] open = new byte[labels.Length];
        for (int y = 0; y < h; y++)
        {
            for (int x = 0; x < w; x++)
            {
                int i = y * w + x;
                int l = labels[i];
                bool border =
                    x == 0
                    || y == 0
                    || x == w - 1
                    || y == h - 1
                    || labels[i - 1] != l
                    || labels[i + 1] != l
                    || labels[i - w] != l
                    || labels[i + w] != l;
                open[i] = border ? (byte)0 : (byte)255;
            }
        }

        using Mat free = Mat.FromPixelData(h, w, MatType.CV_8UC1, open);
        using Mat distance = new();
        Cv2.DistanceTransform(free, distance, DistanceTypes.L2, DistanceTransformMasks.Precise);
        distance.GetArray(out float[] far);
        double[] thickness = new double[count + 1];
        for (int i = 0; i < labels.Length; i++)
        {
            thickness[labels[i]] = Math.Max(thickness[labels[i]], far[i] + 0.5);
        }

        return thickness;
    }

    private sealed class Joiner
    {
        private readonly int[] root;
        private readonly Dictionary<int, (double Sum, int Length)>[] borders;

        public Joiner(EvidenceMap evidence, int[] labels, int count)
        {
            root = new int[count + 1];
            borders = new Dictionary<int, (double, int)>[count + 1];
            for (int r = 0; r <= count; r++)
            {
                root[r] = r;
                borders[r] = [];
            }

            int w = evidence.Width;
            int h = evidence.Height;
            float[] p = evidence.Seam;
            for (int y = 0; y < h; y++)
            {
                for (int x = 0; x < w; x++)
                {
                    int i = y * w + x;
                    if (x + 1 < w && labels[i] != labels[i + 1])
                    {
                        float before = x > 0 ? p[i - 1] : 0;
                        float after = x + 2 < w ? p[i + 2] : 0;
                        Add(labels[i], labels[i + 1], Strongest(before, p[i], p[i + 1], after));
                    }

                    if (y + 1 < h && labels[i] != labels[i + w])
                    {
                        float before = y > 0 ? p[i - w] : 0;
                        float after = y + 2 < h ? p[i + 2 * w] : 0;
                        Add(labels[i], labels[i + w], Strongest(before, p[i], p[i + w], after));
                    }
                }
            }
        }

        public void JoinWeakBorders(double leastStrength)
        {
            PriorityQueue<(int A, int B), (double, int, int)> queue = new();
            for (int a = 1; a < borders.Length; a++)
            {
                foreach ((int b, (double sum, int length)) in borders[a])
                {
                    if (b > a)
                    {
                        queue.Enqueue((a, b), (sum / length, a, b));
                    }
                }
            }

            while (queue.TryDequeue(out (int A, int B) pair, out (double Strength, int, int) key))
            {
                if (key.Strength >= leastStrength)
                {
                    break;
                }

                // Entries of regions that were joined meanwhile, or whose border has grown, are stale.
                if (
                    root[pair.A] != pair.A
                    || root[pair.B] != pair.B
                    || !borders[pair.A].TryGetValue(pair.B, out (double Sum, int Length) border)
                    || border.Sum / border.Length != key.Strength
                )
                {
                    continue;
                }

                // Only the borders of the region that gave up its label have changed.
                int[] changed =
                [
                    .. borders[pair.A].Count <= borders[pair.B].Count ? borders[pair.A].Keys : borders[pair.B].Keys,
                ];
                int kept = Join(pair.A, pair.B);
                foreach (int other in changed)
                {
                    if (other != Basins.Outside && other != kept)
                    {
                        (double sum, int length) = borders[kept][other];
                        (int a, int b) = (Math.Min(kept, other), Math.Max(kept, other));
                        queue.Enqueue((a, b), (sum / length, a, b));
                    }
                }
            }
        }

        public bool JoinThin(double[] thickness, double thinPixels)
        {
            bool any = false;
            for (int r = 1; r < borders.Length; r++)
            {
                if (root[r] != r || borders[r].Count == 0 || thickness[r] >= thinPixels)
                {
                    continue;
                }

                int weakest = -1;
                double least = double.PositiveInfinity;
                foreach ((int other, (double sum, int length)) in borders[r].OrderBy(b => b.Key))
                {
                    // A long weak border is the one that the sliver's own width made.
                    double strength = sum / length - 0.002 * length;
                    if (strength < least)
                    {
                        (weakest, least) = (other, strength);
                    }
                }

                Join(weakest, r);
                any = true;
            }

            return any;
        }

        public void Relabel(int[] labels)
        {
            for (int i = 0; i < labels.Length; i++)
            {
                labels[i] = Find(labels[i]);
            }
        }

        private static double Strongest(float a, float b, float c, float d) => Math.Max(Math.Max(a, b), Math.Max(c, d));

        private int Find(int r)
        {
            while (root[r] != r)
            {
                root[r] = root[root[r]];
                r = root[r];
            }

            return r;
        }

        private void Add(int a, int b, double strength)
        {
            (double sum, int length) = borders[a].GetValueOrDefault(b);
            borders[a][b] = borders[b][a] = (sum + strength, length + 1);
        }

        private int Join(int a, int b)
        {
            // The outside keeps its label; otherwise the region with more borders does.
            if (b == Basins.Outside || (a != Basins.Outside && borders[a].Count <= borders[b].Count))
            {
                (a, b) = (b, a);
            }

            root[b] = a;
            borders[a].Remove(b);
            foreach ((int other, (double sum, int length)) in borders[b])
            {
                borders[other].Remove(b);
                if (other != a)
                {
                    (double s, int l) = borders[a].GetValueOrDefault(other);
                    borders[a][other] = borders[other][a] = (s + sum, l + length);
                }
            }

            borders[b].Clear();
            return a;
        }
    }
}
