using System.Globalization;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Bringing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// Whether a blurred photograph is called so and a sharp one is not: the real photographs of quilts beside the repository (absent,
/// the sample alone), each as it is and smeared by known widths.
/// </summary>
internal static class BlurScore
{
    private static readonly double[] Defocus = [0, 1, 2, 3, 4, 6, 8];
    private static readonly double[] Movement = [0, 6, 10, 16, 24, 32];
    private static readonly double[] Directions = [0, 36, 90];

    public static void Add(List<(string, string, string, bool)> rows)
    {
        List<Picture> photos = [.. Photos()];
        int sharp = 0;
        int falsely = 0;
        int steps = 0;
        int grew = 0;
        SortedDictionary<double, int> softFound = [];
        SortedDictionary<double, int> movedFound = [];
        List<double> off = [];
        foreach (Picture photo in photos)
        {
            sharp++;
            falsely += IsCalledBlurred(photo, PhotoBlur.Of(photo)) ? 1 : 0;
            double last = -1;
            foreach (double sigma in Defocus)
            {
                BlurReading read = PhotoBlur.Of(SmearedPhoto.Defocused(photo, sigma));
                Count(softFound, sigma, IsCalledBlurred(photo, read));
                if (sigma >= 3)
                {
                    off.Add(read.Pixels / sigma - 1);
                }

                Follow(ref last, read.Pixels);
            }

            foreach (double direction in Directions)
            {
                last = -1;
                foreach (double length in Movement)
                {
                    BlurReading read = PhotoBlur.Of(SmearedPhoto.Moved(photo, length, direction));
                    Count(movedFound, length, IsCalledBlurred(photo, read));
                    Follow(ref last, read.Pixels);
                }
            }
        }

        int n = photos.Count;
        off.Sort();
        rows.Add(
            (
                Say($"blur, {n} sharp photographs of quilts: called blurred"),
                Say($"{falsely} of {sharp}"),
                "≤ 5 %",
                falsely <= 0.05 * sharp
            )
        );
        int strong = Defocus.Where(s => s >= 4).Sum(s => softFound[s]);
        int asked = n * Defocus.Count(s => s >= 4);
        rows.Add(
            (
                "the same out of focus, σ 4, 6 and 8 px: called blurred",
                Say($"{strong} of {asked} (σ 3 px: {softFound[3]} of {n}, 2 px: {softFound[2]}, 1 px: {softFound[1]})"),
                "≥ 95 %",
                strong >= 0.95 * asked
            )
        );
        int far = movedFound[24] + movedFound[32];
        int moved = n * Directions.Length;
        rows.Add(
            (
                "the same moved by 24 and 32 px in three directions: called blurred",
                Say(
                    $"{far} of {2 * moved} (16 px: {movedFound[16]} of {moved}, 10 px: {movedFound[10]}, 6 px: {movedFound[6]})"
                ),
                "≥ 95 %",
                far >= 0.95 * 2 * moved
            )
        );
        rows.Add(
            (
                "the measured smear does not shrink when the smear grows",
                Say($"{grew} of {steps} steps"),
                "all",
                grew == steps
            )
        );
        rows.Add(
            (
                "measured against known, out of focus by 3 px and more: median, from, to",
                Say($"{100 * off[off.Count / 2]:0} %, {100 * off[0]:0} %, {100 * off[^1]:0} %"),
                "-",
                true
            )
        );

        // From nothing measured to nothing measured is no step back.
        void Follow(ref double last, double now)
        {
            if (last >= 0)
            {
                steps++;
                grew += now >= last - 0.02 ? 1 : 0;
            }

            last = now;
        }
    }

    private static void Count(SortedDictionary<double, int> found, double key, bool called) =>
        found[key] = found.GetValueOrDefault(key) + (called ? 1 : 0);

    private static bool IsCalledBlurred(Picture photo, BlurReading read) =>
        (PhotoQuality.Unmeasured(photo.Width, photo.Height) with { BlurPixels = read.IsKnown ? read.Pixels : null })
            .Remarks(new LengthWords(LengthUnits.Inches))
            .Any(r => r.Flaw == PhotoFlaw.Blurred);

    private static IEnumerable<Picture> Photos()
    {
        yield return PhotoReader.Read(Sample.Load().Jpeg, "sample.jpg").Picture;
        for (DirectoryInfo? at = new(AppContext.BaseDirectory); at is not null; at = at.Parent)
        {
            string folder = Path.Combine(at.Parent?.FullName ?? "", "shared", "data", "photos");
            if (File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")) && Directory.Exists(folder))
            {
                foreach (string file in Directory.EnumerateFiles(folder, "*.jpg").Order(StringComparer.Ordinal))
                {
                    yield return PhotoReader.Read(file).Picture;
                }
            }
        }
    }

    private static string Say(FormattableString said) => said.ToString(CultureInfo.InvariantCulture);
}
