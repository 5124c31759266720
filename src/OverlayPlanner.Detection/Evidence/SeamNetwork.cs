using Microsoft.ML.OnnxRuntime;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Evidence;

/// <summary>
/// The seam network: RGB at about 32 pixels to the inch → probability of a seam and of a point at each pixel. One session is
/// shared by all callers; two threads; the same picture always gives the same numbers on one machine.
/// </summary>
/// <remarks>
/// Input <c>x</c> [1, 3, H, W], value / 255 · 2 − 1, sides multiples of 16, filled up by repeating the last row and column;
/// output <c>y</c> logits [1, 2, H, W]. Large pictures run in tiles whose margins are thrown away, so memory does not grow
/// with the picture.
/// </remarks>
internal sealed class SeamNetwork : IDisposable
{
    /// <summary>Pixels to the inch that the network was trained for.</summary>
    public const double PixelsPerInch = 32;

    // A tile's features take about 350 bytes a pixel at full width; a tile of 1.5 megapixels stays near 0.6 GB.
    private const int LargestWhole = 1_250_000;
    private const int TileCore = 1024;

    // The network's widest layers see far, but nearly all of its weight lies within this.
    private const int TileMargin = 96;
    private const int Multiple = 16;

    private readonly InferenceSession session;

    public SeamNetwork()
    {
        using Stream stream =
            typeof(SeamNetwork).Assembly.GetManifestResourceStream("seam.onnx")
            ?? throw new InvalidOperationException("The seam model was not built into this assembly.");
        byte[] model = new byte[stream.Length];
        stream.ReadExactly(model);
        using SessionOptions options = new()
        {
            IntraOpNumThreads = 2,
            InterOpNumThreads = 1,
            ExecutionMode = ExecutionMode.ORT_SEQUENTIAL,
            GraphOptimizationLevel = GraphOptimizationLevel.ORT_ENABLE_ALL,
            EnableCpuMemArena = false,
        };
        session = new(model, options);
    }

    /// <summary>
    /// The evidence for a rectified picture, resampled to about <see cref="PixelsPerInch"/> by area means where it is
    /// denser and by cubic interpolation where it is coarser.
    /// </summary>
    public EvidenceMap Look(Mat picture, double picturePixelsPerInch, double marginInches, CancellationToken ct)
    {
        double scale = PixelsPerInch / picturePixelsPerInch;
        int width = Math.Max(1, (int)Math.Round(picture.Width * scale));
        int height = Math.Max(1, (int)Math.Round(picture.Height * scale));
        using Mat sized = new();
        Cv2.Resize(
            picture,
            sized,
            new(width, height),
            interpolation: scale < 1 ? InterpolationFlags.Area : InterpolationFlags.Cubic
        );
        float[] seam = new float[width * height];
        float[] junction = new float[width * height];
        foreach (Rect core in Tiles(width, height))
        {
            ct.ThrowIfCancellationRequested();
            RunTile(sized, core, seam, junction);
        }

        return new(
            width,
            height,
            seam,
            junction,
            picturePixelsPerInch * width / picture.Width,
            picturePixelsPerInch * height / picture.Height,
            marginInches
        );
    }

    public void Dispose() => session.Dispose();

    /// <summary>Logits [2, H, W] for RGB bytes, both sides multiples of 16.</summary>
    internal float[] Logits(byte[] rgb, int width, int height)
    {
        int plane = width * height;
        float[] input = new float[3 * plane];
        for (int i = 0; i < plane; i++)
        {
            input[i] = rgb[3 * i] / 255f * 2 - 1;
            input[plane + i] = rgb[3 * i + 1] / 255f * 2 - 1;
            input[2 * plane + i] = rgb[3 * i + 2] / 255f * 2 - 1;
        }

        using OrtValue x = OrtValue.CreateTensorValueFromMemory(input, [1, 3, height, width]);
        using RunOptions run = new();
        using IDisposableReadOnlyCollection<OrtValue> y = session.Run(run, ["x"], [x], ["y"]);
        return y[0].GetTensorDataAsSpan<float>().ToArray();
    }

    private static IEnumerable<Rect> Tiles(int width, int height)
    {
        if ((long)width * height <= LargestWhole)
        {
            yield return new(0, 0, width, height);
            yield break;
        }

        int columns = (width + TileCore - 1) / TileCore;
        int rows = (height + TileCore - 1) / TileCore;
        for (int r = 0; r < rows; r++)
        {
            for (int c = 0; c < columns; c++)
            {
                int x0 = width * c / columns;
                int y0 = height * r / rows;
                yield return new(x0, y0, width * (c + 1) / columns - x0, height * (r + 1) / rows - y0);
            }
        }
    }

    private static float Sigmoid(float v) => 1 / (1 + MathF.Exp(-v));

    private void RunTile(Mat sized, Rect core, float[] seam, float[] junction)
    {
        int left = Math.Max(0, core.Left - TileMargin);
        int top = Math.Max(0, core.Top - TileMargin);
        int right = Math.Min(sized.Width, core.Right + TileMargin);
        int bottom = Math.Min(sized.Height, core.Bottom + TileMargin);
        int padX = (Multiple - (right - left) % Multiple) % Multiple;
        int padY = (Multiple - (bottom - top) % Multiple) % Multiple;
        using Mat view = new(sized, new Rect(left, top, right - left, bottom - top));
        using Mat padded = new();
        Cv2.CopyMakeBorder(view, padded, 0, padY, 0, padX, BorderTypes.Replicate);
        int w = padded.Width;
        int h = padded.Height;
        byte[] rgb = new byte[w * h * Picture.Channels];
        System.Runtime.InteropServices.Marshal.Copy(padded.Data, rgb, 0, rgb.Length);
        float[] logits = Logits(rgb, w, h);
        for (int y = core.Top; y < core.Bottom; y++)
        {
            for (int x = core.Left; x < core.Right; x++)
            {
                int from = (y - top) * w + (x - left);
                int to = y * sized.Width + x;
                seam[to] = Sigmoid(logits[from]);
                junction[to] = Sigmoid(logits[w * h + from]);
            }
        }
    }
}
