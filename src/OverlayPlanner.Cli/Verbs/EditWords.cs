using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>Reads single edits as they are typed: <c>j5=12.1,8</c>, <c>0,6 12,6</c>, <c>s3=0.2</c>, <c>b2=ohio-star</c>.</summary>
internal static class EditWords
{
    private const string Unknown = "unknown";

    public static MapEdit Add(string text)
    {
        string[] parts = text.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        if (parts.Length is not (2 or 3))
        {
            throw Wrong(
                text,
                "--add",
                "Give two places, and a bulge where it is an arc: \"0,6 12,6\" or \"0,6 12,6 0.2\"."
            );
        }

        double bulge = parts.Length == 3 ? Values.Number(parts[2], "--add", -Mender.MostBulge, Mender.MostBulge) : 0;
        return new AddSeam(Place(parts[0], "--add"), Place(parts[1], "--add"), bulge);
    }

    public static MapEdit Move(string text)
    {
        (string id, string value) = Pair(text, "--move", "Give a point and where it goes: j5=12.1,8.0.");
        return new MovePoint(new(id), Place(value, "--move"));
    }

    public static MapEdit Remove(string text) => new RemoveSeam(new(Id(text, "--remove")));

    public static MapEdit Arc(string text)
    {
        (string id, string value) = Pair(
            text,
            "--arc",
            "Give a seam and its bulge, s3=0.2 (0 is straight), or a place that it runs through, s3=4,2.5."
        );
        return value.Contains(',', StringComparison.Ordinal)
            ? new BendSeam(new(id), 0) { Through = Place(value, "--arc") }
            : new BendSeam(new(id), Values.Number(value, "--arc", -Mender.MostBulge, Mender.MostBulge));
    }

    public static MapEdit Leave(string text)
    {
        bool pair = text.Contains('=', StringComparison.Ordinal);
        (string id, string value) = pair
            ? Pair(text, "--leave", "Give a patch: p4, or p4=no to take the mark off.")
            : (Id(text, "--leave"), "yes");
        return value switch
        {
            "yes" => new LeavePatch(new(id)),
            "no" => new LeavePatch(new(id), Alone: false),
            _ => throw Wrong(text, "--leave", "Give a patch: p4, or p4=no to take the mark off."),
        };
    }

    public static MapEdit Ditch(string text)
    {
        (string id, string value) = Pair(
            text,
            "--ditch",
            "Give a seam and its low side: s3=left, s3=right or s3=open."
        );
        return value switch
        {
            "left" => new SayDitch(new(id), LowSide.Left),
            "right" => new SayDitch(new(id), LowSide.Right),
            "open" => new SayDitch(new(id), LowSide.Open),
            _ => throw Wrong(text, "--ditch", "The low side is left, right or open."),
        };
    }

    public static MapEdit Edge(string text)
    {
        const string Remedy = "Give a seam of the outline and what it is: s1=seam, s1=raw or s1=cut.";
        (string id, string value) = Pair(text, "--edge", Remedy);
        EdgeKind kind = value switch
        {
            "seam" => EdgeKind.Seam,
            "raw" => EdgeKind.Raw,
            "cut" => EdgeKind.Cut,
            _ => throw Wrong(text, "--edge", Remedy),
        };
        return new SayEdge(new(id), kind);
    }

    public static MapEdit Name(string text)
    {
        (string id, string value) = Pair(
            text,
            "--name",
            "Give a block and its pattern: b2=ohio-star, b2=ohio-star:1 for a quarter turn, or b2=unknown."
        );
        int colon = value.LastIndexOf(':');
        string pattern = colon < 0 ? value : value[..colon];
        return new NameBlock(new(id), pattern == Unknown ? null : pattern)
        {
            Turn = colon < 0 ? null : Values.Count(value[(colon + 1)..], "--name", 0, 3),
        };
    }

    public static MapEdit Corners(string text)
    {
        (string id, string value) = Pair(
            text,
            "--corners",
            "Give a block and its corners in inches, clockwise from its top left: \"b2=0,0 12,0 12,12 0,12\"."
        );
        return new SetCorners(new(id), Values.Points<ClothSpace>(value, "--corners"));
    }

    public static MapEdit Copy(string text) => new CopyBlock(new(Id(text, "--copy")));

    private static Point<ClothSpace> Place(string text, string option) => Values.Point<ClothSpace>(text, option);

    private static (string Id, string Value) Pair(string text, string option, string remedy)
    {
        int at = text.IndexOf('=', StringComparison.Ordinal);
        return at > 0 && at < text.Length - 1
            ? (Id(text[..at], option), text[(at + 1)..].Trim())
            : throw Wrong(text, option, remedy);
    }

    private static string Id(string text, string option)
    {
        string id = text.Trim();
        return id.Length is > 0 and <= 100 && !id.Any(c => char.IsControl(c) || c is '=' or ' ')
            ? id
            : throw Wrong(text, option, "Give one id as the map has it, for example s7; the preview shows them.");
    }

    private static InputException Wrong(string text, string option, string remedy) =>
        new($"\"{text}\" can't be used", option, remedy);
}
