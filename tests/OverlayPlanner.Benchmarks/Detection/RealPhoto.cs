using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>A real photograph with hand-made truth inside a rectangle of it.</summary>
/// <param name="Name">File name without its ending.</param>
/// <param name="Path">The photograph.</param>
/// <param name="UnitInches">Inches in the truth's unit, taken where the note knows none.</param>
/// <param name="Tolerance">Distance within which a point counts, inches.</param>
public sealed record RealPhoto(string Name, string Path, double UnitInches, double Tolerance)
{
    private const double MarginInches = 1;

    /// <summary>
    /// The annotated photographs in <c>../shared/data/photos</c> beside the repository; empty where that folder is absent. The
    /// triangles' size is unknown: 3 in are taken, and a quarter of the unit's twelfth, 1/48 of a 12-unit block, allowed.
    /// </summary>
    public static IReadOnlyList<RealPhoto> FindAll()
    {
        for (DirectoryInfo? at = new(AppContext.BaseDirectory); at is not null; at = at.Parent)
        {
            if (!File.Exists(System.IO.Path.Combine(at.FullName, "OverlayPlanner.sln")) || at.Parent is null)
            {
                continue;
            }

            string folder = System.IO.Path.Combine(at.Parent.FullName, "shared", "data", "photos");
            return
            [
                .. new RealPhoto[]
                {
                    new("hst-scrappy", System.IO.Path.Combine(folder, "hst-scrappy.jpg"), 3, 0.25),
                    new(
                        "squares-floor-perspective",
                        System.IO.Path.Combine(folder, "squares-floor-perspective.jpg"),
                        1,
                        0.25
                    ),
                }.Where(p => File.Exists(p.Path)),
            ];
        }

        return [];
    }

    /// <summary>Rectifies the annotated rectangle and reads its truth as a map.</summary>
    public (Picture Picture, DetectionWishes Wishes, QuiltMap Truth) Load()
    {
        using JsonDocument document = JsonDocument.Parse(
            File.ReadAllBytes(System.IO.Path.ChangeExtension(Path, ".truth.json"))
        );
        JsonElement root = document.RootElement;
        Point<PhotoSpace>[] corners = [.. root.GetProperty("rect_corners_px").EnumerateArray().Select(ReadPoint)];
        double[] size = [.. root.GetProperty("rect_size_units").EnumerateArray().Select(e => e.GetDouble())];
        Length width = Length.FromInches(size[0] * UnitInches);
        Length height = Length.FromInches(size[1] * UnitInches);
        Photo photo = PhotoReader.Read(Path);
        PlaneFit plane = PlaneFromCorners.Solve(corners, width, height, photo.Picture.Width, photo.Picture.Height);
        Picture picture = Rectification.Rectify(
            photo,
            plane.PhotoFromCloth,
            width,
            height,
            Rectification.UsualPixelsPerInch,
            Length.FromInches(MarginInches)
        );
        Point<ClothSpace>[] points =
        [
            .. root.GetProperty("junctions_px").EnumerateArray().Select(e => plane.ClothFromPhoto.Apply(ReadPoint(e))),
        ];
        List<SeamLine> lines =
        [
            .. root.GetProperty("seams")
                .EnumerateArray()
                .Select(e => new SeamLine(new(OnOutline(points[e[0].GetInt32()]), OnOutline(points[e[1].GetInt32()]))))
                .Where(l => !IsOutline(l.Path)),
        ];
        return (
            picture,
            new()
            {
                Width = width,
                Height = height,
                Margin = Length.FromInches(MarginInches),
            },
            MapBuilder.Build(width, height, lines, [], Length.FromInches(0.02))
        );

        // Hand-placed points of the outline lie off the straight side by the cloth's own waviness.
        Point<ClothSpace> OnOutline(Point<ClothSpace> p) => new(Snap(p.X, width.Inches), Snap(p.Y, height.Inches));
        static double Snap(double v, double far) =>
            Math.Abs(v) < 0.3 ? 0
            : Math.Abs(v - far) < 0.3 ? far
            : v;
        bool IsOutline(Edge<ClothSpace> e) =>
            (e.From.X == e.To.X && (e.From.X == 0 || e.From.X == width.Inches))
            || (e.From.Y == e.To.Y && (e.From.Y == 0 || e.From.Y == height.Inches));
    }

    private static Point<PhotoSpace> ReadPoint(JsonElement e) => new(e[0].GetDouble(), e[1].GetDouble());
}
