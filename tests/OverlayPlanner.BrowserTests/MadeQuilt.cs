using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>
/// A mapped quilt of any size without the minutes that mapping it takes: the sample's photograph enlarged as its cloth, and squares as its
/// map. Made for measuring and driving the view; nothing was found on it.
/// </summary>
internal static class MadeQuilt
{
    /// <summary>Inches of a square's side.</summary>
    public const double Square = 2;

    private const double Margin = 1;

    /// <summary>Keeps one in a folder of quilts.</summary>
    /// <param name="folder">The folder that the workroom serves.</param>
    /// <param name="squares">Squares along each side; the map has 2 n (n + 1) seams.</param>
    /// <param name="megapixels">Size of its cloth's picture.</param>
    public static KeptQuilt Keep(string folder, int squares, double megapixels)
    {
        QuiltStore store = new(folder);
        QuiltMap map = Map(squares);
        double inches = squares * Square + 2 * Margin;
        int side = (int)Math.Round(Math.Sqrt(megapixels * 1e6));
        Picture cloth = Enlarged(PhotoReader.Read(Sample.Load().Jpeg, "sample.jpg").Picture, side);
        return store.Save(
            store.Create("Made"),
            (QuiltStore.MapFile, QuiltMapFile.Write(map)),
            (QuiltStore.ClothFile, ScreenPicture.Render(cloth, 4096).File.Bytes),
            (ClothTiles.WholeFile, ScreenPicture.Render(cloth, int.MaxValue).File.Bytes),
            (
                QuiltSteps.FoundFile,
                JsonSerializer.SerializeToUtf8Bytes(
                    new ClothPicture(-Margin, -Margin, inches, inches),
                    JsonSerializerOptions.Web
                )
            )
        );
    }

    /// <summary>Squares; the seam below the third square of the first row is doubtful.</summary>
    public static QuiltMap Map(int squares)
    {
        List<Junction> points = [];
        List<Seam> seams = [];
        for (int row = 0; row <= squares; row++)
        {
            for (int column = 0; column <= squares; column++)
            {
                points.Add(
                    new(Point(column, row), Estimate<Point<ClothSpace>>.Exact(new(column * Square, row * Square)))
                );
                if (column < squares)
                {
                    seams.Add(
                        Side(
                            FormattableString.Invariant($"a{row}x{column}"),
                            Point(column, row),
                            Point(column + 1, row),
                            row,
                            squares
                        )
                    );
                }

                if (row < squares)
                {
                    seams.Add(
                        Side(
                            FormattableString.Invariant($"d{row}x{column}"),
                            Point(column, row),
                            Point(column, row + 1),
                            column,
                            squares
                        )
                    );
                }
            }
        }

        Length side = Length.FromInches(squares * Square);
        QuiltMap bare = new(side, side, points, seams);
        return bare.With(patches: PatchFinder.FindPatches(bare));
    }

    private static string Point(int column, int row) => FormattableString.Invariant($"p{row}x{column}");

    private static Seam Side(string id, string from, string to, int line, int squares)
    {
        Seam seam = new(id, from, to) { Confidence = id == "a1x2" ? 0.4 : 1 };
        return line == 0 || line == squares ? seam with { Role = SeamRole.Edge, Edge = EdgeKind.Seam } : seam;
    }

    // Nearest pixels: what it looks like enlarged is of no matter, only that it has as many and is no flat colour.
    private static Picture Enlarged(Picture from, int side)
    {
        byte[] rgb = new byte[(long)side * side * Picture.Channels];
        for (int y = 0; y < side; y++)
        {
            int source = (int)((long)y * from.Height / side);
            for (int x = 0; x < side; x++)
            {
                int at = from.IndexOf((int)((long)x * from.Width / side), source);
                from.Rgb.AsSpan(at, Picture.Channels).CopyTo(rgb.AsSpan((y * side + x) * Picture.Channels));
            }
        }

        return new(side, side, rgb);
    }
}
