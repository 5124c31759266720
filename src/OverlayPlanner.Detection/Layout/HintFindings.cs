using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Says where the seams show something else than the user said.</summary>
internal static class HintFindings
{
    private const string Code = "hint-not-followed";

    /// <summary>Where no blocks were found at all.</summary>
    public static IReadOnlyList<Finding> WithoutSeams(LatticeHints hints)
    {
        List<Finding> findings = [];
        if (hints.Lattice is { } told)
        {
            findings.Add(new(Code, Words(told), "No seams were found to set blocks by."));
        }

        if (hints.Pattern is not null)
        {
            findings.Add(new(Code, $"pattern {hints.Pattern}", "No seams were found to tell a pattern by."));
        }

        if (hints.BlockCorners is not null)
        {
            findings.Add(new(Code, "corners of one block", "No seams were found to set blocks by."));
        }

        return findings;
    }

    /// <summary>What of the hints the chosen placing does not follow, with what was seen instead.</summary>
    public static IEnumerable<Finding> For(
        LatticePlacing placing,
        PatternName?[] names,
        LatticeHints hints,
        PatternNamer namer
    )
    {
        if (hints.Lattice is { } told && placing.Counted != told)
        {
            yield return new(
                Code,
                Words(told),
                $"The seams show {Words(placing.Counted)}{(placing.View is { IsOnPoint: true } ? " on point" : "")}; mark one block by its corners if that is wrong."
            );
        }

        if (hints.BlockCorners is { } corners)
        {
            if (corners.Count != 4)
            {
                yield return new(Code, "corners of one block", "Give four corners, clockwise from the top left.");
            }
            else if (!HintedPlacings.Holds(placing, corners))
            {
                double side = placing.Cells.Average(c => c.Frame.Side);
                yield return new(
                    Code,
                    "corners of one block",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"No block was found there; the seams show {Words(placing.Counted)} of {side:0.##} in."
                    )
                );
            }
        }

        if (hints.Pattern is { } pattern)
        {
            string id = BlockLibrary.IdOf(pattern);
            if (!namer.Knows(id))
            {
                yield return new(Code, $"pattern {pattern}", "There is no such draft. See: blocks list.");
            }
            else if (!names.Any(n => n?.Id == id))
            {
                string seen = string.Join(
                    ", ",
                    names.GroupBy(n => n?.Id ?? "unknown").OrderByDescending(g => g.Count()).Take(3).Select(g => g.Key)
                );
                yield return new(Code, $"pattern {pattern}", $"The seams show {seen}.");
            }
        }
    }

    private static string Words((int Rows, int Columns) lattice) =>
        string.Create(CultureInfo.InvariantCulture, $"{lattice.Rows} x {lattice.Columns} blocks");
}
