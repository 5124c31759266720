using System.CommandLine;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>What a user may tell of a top before it is mapped.</summary>
internal sealed class HintOptions
{
    public Option<string?> Lattice { get; } =
        new("--lattice") { Description = "Rows x columns of blocks, where they were counted: 4x5." };

    public Option<string?> Pattern { get; } =
        new("--pattern") { Description = "The block that the top is made of: id or name of a library block." };

    public Option<string?> Block { get; } =
        new("--block")
        {
            Description = "Photo pixels of the corners of one block, clockwise from its top left: \"x,y x,y x,y x,y\".",
        };

    public Option<string?> Edits { get; } =
        new("--edits")
        {
            Description =
                "A file of edits (JSON) from an earlier mapping: each is carried over to what lies at its place now.",
        };

    public MapHints Read(ParseResult r)
    {
        (int, int)? lattice = null;
        if (r.GetValue(Lattice) is { } text)
        {
            string[] parts = text.Split('x', 'X', '×');
            lattice =
                parts.Length == 2
                    ? (Values.Count(parts[0], "--lattice", 1, 200), Values.Count(parts[1], "--lattice", 1, 200))
                    : throw new InputException(
                        $"\"{text}\" is no lattice",
                        "--lattice",
                        "Give rows x columns of blocks, for example 4x5."
                    );
        }

        return new()
        {
            Lattice = lattice,
            Pattern = r.GetValue(Pattern),
            Block = r.GetValue(Block) is { } block ? Values.Points<PhotoSpace>(block, "--block") : null,
            Edits = r.GetValue(Edits),
        };
    }
}
