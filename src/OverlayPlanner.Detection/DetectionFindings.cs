using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection;

/// <summary>What a person should know about a found map.</summary>
internal static class DetectionFindings
{
    /// <summary>Below this a seam's ditch is thinner than a pixel's blur and prints hide it.</summary>
    public const double LeastPixelsPerInch = 15;

    private const double DoubtfulConfidence = 0.8;
    private const int MostDoubtful = 8;

    // An edge spread so far hides a seam 1/8 in beside another; sharp photographs from 15 px/in up stay below 0.28.
    private const double BlurredAboveInches = 0.3;

    // From so large a part of doubtful seams on, the whole picture is to be mended rather than each seam.
    private const double MuchDoubtful = 0.15;

    /// <summary>Findings, the general ones first, then the least sure seams.</summary>
    public static IReadOnlyList<Finding> For(QuiltMap map, Picture rectified)
    {
        List<Finding> findings = [];
        double density = rectified.PixelsPerInch!.Value;
        if (density < LeastPixelsPerInch)
        {
            findings.Add(
                new(
                    "picture-too-coarse",
                    string.Create(CultureInfo.InvariantCulture, $"{density:0.#} pixels to the inch"),
                    "Come closer, or photograph the top in parts; 20 pixels to the inch or more show the seams."
                )
            );
        }

        Length spread = EdgeSpread.Of(rectified);
        if (spread.Inches > BlurredAboveInches)
        {
            findings.Add(
                new(
                    "picture-blurred",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"the sharpest edges are spread over {spread.Inches:0.00} in"
                    ),
                    "Hold the camera still or rest it, add light, and take the picture again."
                )
            );
        }

        Seam[] inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        if (inner.Length == 0)
        {
            findings.Add(
                new(
                    "no-seams",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"the whole mapped area, {map.Width.Inches:0.##} × {map.Height.Inches:0.##} in"
                    ),
                    "If the cloth is one piece, the map is right. Otherwise come closer, light the top from one side so that the seams throw a shadow, lay it flatter, and check the corners."
                )
            );
        }

        int doubtful = inner.Count(s => s.Confidence < DoubtfulConfidence);
        if (doubtful > MuchDoubtful * inner.Length)
        {
            findings.Add(
                new(
                    "much-is-doubtful",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{doubtful} of {inner.Length} seams are less than {DoubtfulConfidence * 100:0} % sure"
                    ),
                    "Come closer, light the top from one side, lay it flatter and photograph it again; or give the corners of one block, so that the others are read like it."
                )
            );
        }

        findings.AddRange(OddBlocks(map));

        foreach (
            Seam s in inner.Where(s => s.Confidence < DoubtfulConfidence).OrderBy(s => s.Confidence).Take(MostDoubtful)
        )
        {
            Point<ClothSpace> p = map.EdgeOf(s).PointAt(0.5);
            findings.Add(
                new(
                    "look-here",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"seam {s.Id} near ({p.X:0.#}, {p.Y:0.#}) in, {s.Confidence * 100:0} % sure"
                    ),
                    "Compare with the cloth: keep, move or remove it."
                )
            );
        }

        return findings;
    }

    // A block that is not like its neighbours, or has other patches than its pattern, shows a picture, has something laid on, or
    // was misread.
    private static IEnumerable<Finding> OddBlocks(QuiltMap map)
    {
        string[] odd =
        [
            .. map
                .Blocks.Where(b => b.Pattern is { } id && PatchesOf(id) is { } drafted && drafted != b.Patches.Count)
                .Select(b => b.Id),
        ];
        string[] unnamed = [.. map.Blocks.Where(b => b.Pattern is null && b.Patches.Count > 1).Select(b => b.Id)];
        if (unnamed.Length <= map.Blocks.Count(b => b.Pattern is not null))
        {
            odd = [.. odd, .. unnamed];
        }

        if (odd.Length > 0)
        {
            yield return new(
                "odd-blocks",
                $"{(odd.Length == 1 ? "block" : "blocks")} {string.Join(", ", odd)}",
                "Not as the pattern has it, or unlike the named blocks beside. Where a picture is printed or appliqué laid on, mark the patch to be left alone; otherwise compare the seams with the cloth."
            );
        }

        static int? PatchesOf(string id) => BlockLibrary.All.FirstOrDefault(d => d.Id == id)?.Patches.Count;
    }
}
