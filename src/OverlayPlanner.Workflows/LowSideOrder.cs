using OverlayPlanner.Detection.LowSide;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Workflows;

/// <summary>Low sides in the user's words: what tells them, in order of preference.</summary>
public sealed class LowSideOrder
{
    private static readonly Dictionary<string, LowSideRule> Rules = new(StringComparer.OrdinalIgnoreCase)
    {
        ["light"] = LowSideRule.Light,
        ["dark"] = LowSideRule.Dark,
        ["sashing"] = LowSideRule.Sashing,
        ["block"] = LowSideRule.Block,
        ["alternate"] = LowSideRule.Alternate,
        ["open"] = LowSideRule.Open,
    };

    private readonly List<string> words;

    private LowSideOrder(List<string> words) => this.words = words;

    /// <summary>
    /// Reads <c>light</c>, <c>dark</c>, <c>sashing</c>, <c>block</c>, <c>alternate</c>, <c>open</c>, <c>none</c> or the id of a
    /// taught block, with commas between.
    /// </summary>
    /// <exception cref="InputException">No word is given, or none stands beside others.</exception>
    public static LowSideOrder Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        List<string> given =
        [
            .. text.Split([',', ' '], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries),
        ];
        bool none = given.Exists(w => w.Equals("none", StringComparison.OrdinalIgnoreCase));
        if (given.Count == 0 || (none && given.Count > 1))
        {
            throw new InputException(
                $"\"{text}\" does not say how low sides are come by",
                "--low-side",
                "Give light, dark, sashing, block, alternate, open or a taught block's id, with commas between; or none."
            );
        }

        return new(none ? [] : given);
    }

    /// <summary>The map with low sides, and what a person should know about them.</summary>
    /// <exception cref="InputException">A word is neither a rule nor a block of the map, or that block has no pattern.</exception>
    internal (QuiltMap Map, IReadOnlyList<Finding> Findings) Apply(QuiltMap map, Picture? rectified, Length margin)
    {
        List<Finding> findings = [];
        foreach (string word in words)
        {
            if (Rules.TryGetValue(word, out LowSideRule rule))
            {
                (map, IReadOnlyList<Finding> more) = LowSides.Propose(map, [rule], rectified, margin);
                findings.AddRange(more);
            }
            else if (map.FindBlock(word) is not null)
            {
                map = TaughtSides.Follow(map, word);
            }
            else
            {
                throw new InputException(
                    $"\"{word}\" is neither a rule for low sides nor a block of the map",
                    "--low-side",
                    "Give light, dark, sashing, block, alternate, open or a taught block's id."
                );
            }
        }

        if (words.Count > 0 && LowSides.Summarize(map) is { } summary)
        {
            findings.Add(summary);
        }

        return (map, findings);
    }

    /// <summary>Gives a map's seams low sides by rules and writes it again.</summary>
    /// <param name="quilt">The map's file.</param>
    /// <param name="order">In order of preference; light says nothing here, since a map has no picture.</param>
    /// <param name="output">The map to write.</param>
    /// <param name="files">Where it is written.</param>
    /// <param name="cancellation">Stops before anything is written.</param>
    /// <exception cref="InputException">The map or the order can't be used, or the target can't be written.</exception>
    public static (Written Written, QuiltMap Map) Run(
        string quilt,
        string order,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        LowSideOrder parsed = Parse(order);
        files.Claim(output);
        MapInspection read = MapCheck.Inspect(QuiltMapFile.Read(InputFiles.ReadAll(quilt), quilt));
        (QuiltMap map, IReadOnlyList<Finding> findings) = parsed.Apply(
            MapCheck.RequirePlane(read, quilt),
            null,
            Length.Zero
        );
        files.Add(output, QuiltMapFile.Write(map));
        files.Commit(cancellation);
        return (new(files.Paths, [.. read.Findings, .. findings]), map);
    }
}
