using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// Twelve photographs of 12 megapixels joined to one picture by a program of its own, so that its memory is that of this work and
/// not of all that a scoreboard did before.
/// </summary>
internal static class MosaicCost
{
    /// <summary>What the child is called by on the command line.</summary>
    public const string Verb = "join-photos";

    private const int Photos = 12;

    /// <summary>Makes the photographs and has them joined.</summary>
    /// <returns>Seconds from decoded photos to the picture, and the child's greatest resident memory in billions of bytes, decoding included.</returns>
    /// <exception cref="InvalidOperationException">The child failed.</exception>
    public static (double Seconds, double Gigabytes) Measure()
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-bench-").FullName;
        try
        {
            // The same three views four times over, each with noise of its own.
            CardTruth band = CardLayouts.Draw(new Random(70_001), CardLayout.LoadedBand, 3, withProfile: true);
            for (int i = 0; i < Photos; i++)
            {
                Photo photo = CardRenderer.Render(band, i % 3, new(0.8, 2, 0), 100 + i / 3);
                string name = string.Create(CultureInfo.InvariantCulture, $"photo{i:00}.jpg");
                File.WriteAllBytes(Path.Combine(folder, name), Jpeg(photo.Picture));
            }

            // The renderer's memory is given back first: parent and child share the machine.
            GC.Collect();
            ProcessStartInfo info = new("dotnet") { UseShellExecute = false, RedirectStandardOutput = true };
            info.ArgumentList.Add(typeof(MosaicCost).Assembly.Location);
            info.ArgumentList.Add(Verb);
            info.ArgumentList.Add(folder);
            using Process child = Process.Start(info)!;
            string[] said = child
                .StandardOutput.ReadToEnd()
                .Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
            child.WaitForExit();
            return child.ExitCode == 0 && said.Length == 2
                ? (
                    double.Parse(said[0], CultureInfo.InvariantCulture),
                    double.Parse(said[1], CultureInfo.InvariantCulture)
                )
                : throw new InvalidOperationException(
                    string.Create(CultureInfo.InvariantCulture, $"{Verb} ended with {child.ExitCode}")
                );
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>The child: joins a folder's photographs and prints seconds and memory.</summary>
    public static void Join(string folder)
    {
        Photo[] photos = [.. Directory.EnumerateFiles(folder).Order().Select(f => PhotoReader.Read(f))];
        Stopwatch watch = Stopwatch.StartNew();
        CardsPlane plane = PlaneFromCards.Solve(
            photos,
            new() { Lens = CardLayouts.Nominal(photos[0].Picture.Width, photos[0].Picture.Height) }
        );
        MosaicResult joined = PlaneMosaic.Join(photos, plane, Rectification.UsualPixelsPerInch);
        double seconds = watch.Elapsed.TotalSeconds;
        GC.KeepAlive(joined);
        double gigabytes = Process.GetCurrentProcess().PeakWorkingSet64 / 1e9;
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{seconds} {gigabytes}"));
    }

    private static byte[] Jpeg(Picture picture)
    {
        GCHandle pinned = GCHandle.Alloc(picture.Rgb, GCHandleType.Pinned);
        try
        {
            using Mat rgb = Mat.FromPixelData(
                picture.Height,
                picture.Width,
                MatType.CV_8UC3,
                pinned.AddrOfPinnedObject()
            );
            using Mat bgr = new();
            Cv2.CvtColor(rgb, bgr, ColorConversionCodes.RGB2BGR);
            Cv2.ImEncode(".jpg", bgr, out byte[] jpeg, new ImageEncodingParam(ImwriteFlags.JpegQuality, 92));
            return jpeg;
        }
        finally
        {
            pinned.Free();
        }
    }
}
