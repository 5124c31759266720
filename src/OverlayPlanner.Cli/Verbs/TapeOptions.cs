using System.CommandLine;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>The six tape measures of one block.</summary>
internal sealed class TapeOptions(string what)
{
    public Option<string?> Sides { get; } =
        new("--sides")
        {
            Description =
                $"{what}: its four sides by the tape, top, right, bottom, left: \"12, 11 15/16, 12, 11 7/8\".",
        };

    public Option<string?> Diagonals { get; } =
        new("--diagonals")
        {
            Description =
                "With --sides: its two diagonals, from the top left and from the top right: \"16 15/16, 16 7/8\".",
        };

    /// <summary>What was measured; null where neither is given.</summary>
    public TapeWords? Read(ParseResult r)
    {
        (string? sides, string? diagonals) = (r.GetValue(Sides), r.GetValue(Diagonals));
        if (sides is null && diagonals is null)
        {
            return null;
        }

        if (sides is null || diagonals is null)
        {
            throw new InputException(
                sides is null ? "Diagonals alone give no block" : "Sides alone leave a block free to lean",
                sides is null ? "--diagonals" : "--sides",
                "Give both --sides (four) and --diagonals (two)."
            );
        }

        return new(Values.Lengths(sides, "--sides"), Values.Lengths(diagonals, "--diagonals"));
    }
}
