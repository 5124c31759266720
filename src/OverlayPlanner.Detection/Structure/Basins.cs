using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Cuts the mapped area into many small catchment basins whose borders hold every possible seam.
/// </summary>
/// <remarks>
/// Watershed by flooding (L. Vincent and P. Soille, "Watersheds in digital spaces", 1991), with an ordered queue. The surface is
/// the seam probability plus a little of the distance from likely seams, so that a basin also ends at the neck where a seam
/// has a gap: closing gaps needs no rule of its own. O(n) for n pixels.
/// </remarks>
internal static class Basins
{
    /// <summary>Label of what lies outside the mapped area or on its outline.</summary>
    public const int Outside = 0;

    /// <summary>Pixels nearer to the outline than this belong to it: it is known already.</summary>
    public const double OutlineBand = 2.5;

    private const int Levels = 1024;
    private const double FarPixels = 48;
    private const double ShareOfDistance = 0.22;
    private const double LikelySeam = 0.3;

    /// <summary>A label for each pixel, 1 … <paramref name="count"/>, or <see cref="Outside"/>.</summary>
    public static int[] Flood(EvidenceMap evidence, PixelFrame frame, out int count)
    {
        int w = evidence.Width;
        int h = evidence.Height;
        bool[] inside = new bool[w * h];
        for (int y = 0; y < h; y++)
        {
            for (int x = 0; x < w; x++)
            {
                inside[y * w + x] = frame.DepthOf(x, y) > OutlineBand;
            }
        }

        int[] level = Surface(evidence, inside);
        int[] labels = new int[w * h];
        count = MarkMinima(level, inside, labels, w, h);
        FloodFrom(level, inside, labels, w, h);
        return labels;
    }

    private static int[] Surface(EvidenceMap evidence, bool[] inside)
    {
        int w = evidence.Width;
        int h = evidence.Height;
        using Mat raw = Mat.FromPixelData(h, w, MatType.CV_32FC1, evidence.Seam);
        using Mat smooth = new();
        Cv2.GaussianBlur(raw, smooth, new(0, 0), 0.8);
        smooth.GetArray(out float[] seam);
        byte[] open = new byte[w * h];
        for (int i = 0; i < open.Length; i++)
        {
            open[i] = inside[i] && seam[i] < LikelySeam ? (byte)255 : (byte)0;
        }

        using Mat free = Mat.FromPixelData(h, w, MatType.CV_8UC1, open);
        using Mat distance = new();
        Cv2.DistanceTransform(free, distance, DistanceTypes.L2, DistanceTransformMasks.Precise);
        Cv2.GaussianBlur(distance, distance, new(0, 0), 2);
        distance.GetArray(out float[] far);
        int[] level = new int[w * h];
        for (int i = 0; i < level.Length; i++)
        {
            double v =
                (1 - ShareOfDistance) * seam[i] + ShareOfDistance * (1 - Math.Min(far[i], FarPixels) / FarPixels);
            level[i] = Math.Clamp((int)(v * Levels), 0, Levels - 1);
        }

        return level;
    }

    private static int MarkMinima(int[] level, bool[] inside, int[] labels, int w, int h)
    {
        bool[] seen = new bool[level.Length];
        List<int> plateau = [];
        int count = 0;
        for (int start = 0; start < level.Length; start++)
        {
            if (seen[start] || !inside[start])
            {
                continue;
            }

            plateau.Clear();
            plateau.Add(start);
            seen[start] = true;
            bool lowest = true;
            for (int k = 0; k < plateau.Count; k++)
            {
                int i = plateau[k];
                foreach (int j in Neighbours(i, w, h))
                {
                    if (!inside[j])
                    {
                        continue;
                    }

                    if (level[j] < level[start])
                    {
                        lowest = false;
                    }
                    else if (level[j] == level[start] && !seen[j])
                    {
                        seen[j] = true;
                        plateau.Add(j);
                    }
                }
            }

            if (lowest)
            {
                count++;
                foreach (int i in plateau)
                {
                    labels[i] = count;
                }
            }
        }

        return count;
    }

    private static void FloodFrom(int[] level, bool[] inside, int[] labels, int w, int h)
    {
        Queue<int>[] queues = new Queue<int>[Levels];
        for (int l = 0; l < Levels; l++)
        {
            queues[l] = new();
        }

        for (int i = 0; i < labels.Length; i++)
        {
            if (labels[i] > 0)
            {
                queues[level[i]].Enqueue(i);
            }
        }

        for (int l = 0; l < Levels; l++)
        {
            while (queues[l].TryDequeue(out int i))
            {
                foreach (int j in Neighbours(i, w, h))
                {
                    if (inside[j] && labels[j] == 0)
                    {
                        labels[j] = labels[i];
                        queues[Math.Max(l, level[j])].Enqueue(j);
                    }
                }
            }
        }
    }

    private static FourNeighbours Neighbours(int i, int w, int h) => new(i, w, h);

    /// <summary>The four pixels beside a pixel, without an allocation for each.</summary>
    private ref struct FourNeighbours(int pixel, int w, int h)
    {
        private readonly int x = pixel % w;
        private int step = -1;

        public int Current { get; private set; }

        public readonly FourNeighbours GetEnumerator() => this;

        public bool MoveNext()
        {
            while (++step < 4)
            {
                switch (step)
                {
                    case 0 when x > 0:
                        Current = pixel - 1;
                        return true;
                    case 1 when x + 1 < w:
                        Current = pixel + 1;
                        return true;
                    case 2 when pixel >= w:
                        Current = pixel - w;
                        return true;
                    case 3 when pixel + w < w * h:
                        Current = pixel + w;
                        return true;
                    default:
                        break;
                }
            }

            return false;
        }
    }
}
