using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>The built program's <c>map</c> on large made photographs, as a process of its own.</summary>
internal static class PhotoSpeed
{
    /// <summary>A top of 8 × 6 blocks in a picture of 50 megapixels, as a mosaic of several photographs is.</summary>
    public static SceneWishes Mosaic { get; } =
        new()
        {
            Name = "mosaic",
            Seed = 15900,
            Pattern = "rolling-stone",
            BlockInches = 12,
            Columns = 8,
            Rows = 6,
            Fabrics = FabricMix.Prints,
            Pool = ScenePool.HeldOut,
            Scrappy = true,
            PhotoWidth = 8192,
            PhotoHeight = 6144,
            TiltDegrees = 6,
            Around = 0.04,
        };

    /// <summary>Seconds from start to exit and the greatest resident memory in millions of bytes.</summary>
    public static (double Seconds, double Megabytes) Map(SceneWishes wishes, int repeats)
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-bench-").FullName;
        try
        {
            string photo = Path.Combine(folder, "photo.jpg");
            string[] arguments;
            {
                MadeScene scene = SceneMaker.Make(wishes);
                File.WriteAllBytes(photo, scene.Jpeg);
                arguments =
                [
                    "map",
                    photo,
                    "--corners",
                    string.Join(' ', scene.Corners.Select(c => FormattableString.Invariant($"{c.X},{c.Y}"))),
                    "--size",
                    FormattableString.Invariant($"{scene.Truth.Width.Inches}x{scene.Truth.Height.Inches}"),
                    "--out",
                    Path.Combine(folder, "quilt.json"),
                    "--force",
                ];
            }

            // The picture's own memory is given back first: parent and child share the machine.
            GC.Collect();
            (double Seconds, double Megabytes)[] all =
            [
                .. Enumerable.Range(0, repeats).Select(_ => ChildProgram.Measure(arguments)),
            ];
            return (all.Select(m => m.Seconds).Order().ElementAt(repeats / 2), all.Max(m => m.Megabytes));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
