using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>Lines that the photograph shows and that may be seams, kept beside the map that does not have them.</summary>
internal static class MissedLines
{
    /// <summary>Name of their file.</summary>
    public const string File = "missed-lines.json";

    /// <summary>The file: five cloth numbers a line, in inches but for the bulge, and how likely it is a seam.</summary>
    public static byte[] Write(LookHere look) =>
        JsonSerializer.SerializeToUtf8Bytes(
            look.Places.SelectMany(p => p.Missing)
                .Select(l =>
                    new[] { l.Path.From.X, l.Path.From.Y, l.Path.To.X, l.Path.To.Y, l.Path.Bulge, l.Confidence }
                )
                .ToArray()
        );

    /// <summary>The lines of a quilt; none where the file is not there or is no such file.</summary>
    public static IReadOnlyList<SeamLine> Of(KeptQuilt quilt)
    {
        string path = quilt.PathOf(File);
        try
        {
            double[][] all = System.IO.File.Exists(path)
                ? JsonSerializer.Deserialize<double[][]>(InputFiles.ReadAll(path).Span) ?? []
                : [];
            return
            [
                .. all.Where(n => n.Length == 6 && n.All(double.IsFinite))
                    .Select(n => new SeamLine(new(new(n[0], n[1]), new(n[2], n[3]), n[4]), n[5])),
            ];
        }
        catch (JsonException)
        {
            // They are only hints; the map is whole without them.
            return [];
        }
    }

    /// <summary>A name for a line by its place, the same each time the same photograph is mapped the same way.</summary>
    public static string NameOf(SeamLine line) =>
        string.Create(
            System.Globalization.CultureInfo.InvariantCulture,
            $"{line.Path.From.X:0.00},{line.Path.From.Y:0.00},{line.Path.To.X:0.00},{line.Path.To.Y:0.00}"
        );
}
