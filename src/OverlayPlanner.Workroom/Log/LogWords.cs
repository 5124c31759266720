using System.Text;
using System.Text.RegularExpressions;

namespace OverlayPlanner.Workroom.Log;

/// <summary>An entry of the log as text: what must not lie on a disk is taken out, and nothing runs on for pages.</summary>
internal static partial class LogWords
{
    // A stack of a hundred calls; what lies below the first few says no more of the cause.
    private const int MostSigns = 8_000;

    /// <summary>One entry: a first line, and under it, indented, the error with its causes and where it came from.</summary>
    /// <param name="head">Time, level, id and place.</param>
    public static string Entry(string head, string what, Exception? error)
    {
        StringBuilder entry = new(OneLine(Clean(head + what)));
        if (error is not null)
        {
            entry.Append('\n').Append(string.Join('\n', Clean(error.ToString()).Split('\n').Select(Under)));
        }

        if (entry.Length > MostSigns)
        {
            entry.Length = MostSigns;
            entry.Append(" …");
        }

        return entry.Append('\n').ToString();
    }

    /// <summary>The text without query strings, pairing codes and pictures.</summary>
    public static string Clean(string text) =>
        Picture().Replace(Code().Replace(Query().Replace(text, "?…"), "…"), "data:…");

    // A name from outside with a line break in it must not begin an entry of its own.
    private static string OneLine(string text) => Controls().Replace(text, " ");

    private static string Under(string line) => "    " + OneLine(line.TrimEnd('\r'));

    [GeneratedRegex("""\?[^\s"'<>=?]*=[^\s"'<>]*""", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Query();

    // The signs and the length of a pairing code.
    [GeneratedRegex("(?<![0-9A-Za-z])[2-9a-hj-np-z]{26}(?![0-9A-Za-z])", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Code();

    [GeneratedRegex("""data:[a-z]+/[^\s"'<>]*""", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Picture();

    [GeneratedRegex(@"\p{C}+", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Controls();
}
