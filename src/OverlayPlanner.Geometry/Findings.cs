namespace OverlayPlanner.Geometry;

/// <summary>Something a person should know about a usable but imperfect result.</summary>
/// <param name="What">What was found, a short code in lower case with hyphens followed by nothing else, or a plain sentence.</param>
/// <param name="Where">The place: a file, an id, a point in inches.</param>
/// <param name="Remedy">What to do about it.</param>
public sealed record Finding(string What, string Where, string Remedy);

/// <summary>
/// Bad input: what is wrong, where, and how to mend it. The one exception type for it; thrown where the place is known, and
/// shown word for word by the command line and the workroom.
/// </summary>
public sealed class InputException : Exception
{
    private const int LongestLine = 400;

    /// <summary>Says what, where and how to mend it; each one line, no final full stop needed.</summary>
    /// <remarks>
    /// Texts may quote a file: line breaks and other control characters in them become spaces, and what is longer than 400
    /// characters is cut.
    /// </remarks>
    public InputException(string what, string where, string remedy, Exception? inner = null)
        : base($"{OneLine(what)}\n  where: {OneLine(where)}\n  remedy: {OneLine(remedy)}", inner)
    {
        What = OneLine(what);
        Where = OneLine(where);
        Remedy = OneLine(remedy);
    }

    /// <summary>What is wrong.</summary>
    public string What { get; }

    /// <summary>The file, option, id or place.</summary>
    public string Where { get; }

    /// <summary>How to mend it.</summary>
    public string Remedy { get; }

    private static string OneLine(string text)
    {
        string shown = text.Length > LongestLine ? string.Concat(text.AsSpan(0, LongestLine), " …") : text;
        return shown.Any(char.IsControl) ? string.Concat(shown.Select(c => char.IsControl(c) ? ' ' : c)) : shown;
    }
}
