using System.Globalization;
using System.Text;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>Names of quilts' folders, such as every file system takes: lower-case letters, digits and hyphens.</summary>
internal static class QuiltIds
{
    /// <summary>True for a possible id. Nothing hidden, temporary or outside the root is one.</summary>
    public static bool Fits(string? id) =>
        id is { Length: > 0 and <= 60 } && id.All(c => char.IsAsciiLetterLower(c) || char.IsAsciiDigit(c) || c == '-');

    /// <summary>An id for a name that is none of those taken, whatever their case.</summary>
    public static string Free(string name, IEnumerable<string> taken)
    {
        StringBuilder id = new();
        foreach (char c in name.ToLowerInvariant())
        {
            if (char.IsAsciiLetterOrDigit(c))
            {
                id.Append(c);
            }
            else if (id.Length > 0 && id[^1] != '-')
            {
                id.Append('-');
            }
        }

        string stem = id.ToString().Trim('-');
        stem = stem.Length == 0 ? "quilt" : stem[..Math.Min(stem.Length, 40)].Trim('-');
        stem = IsDevice(stem) ? $"quilt-{stem}" : stem;
        HashSet<string> all = new(taken, StringComparer.OrdinalIgnoreCase);
        string free = stem;
        for (int n = 2; all.Contains(free); n++)
        {
            free = string.Create(CultureInfo.InvariantCulture, $"{stem}-{n}");
        }

        return free;
    }

    /// <summary>
    /// True where Windows takes a file's name, with or without an ending, for a device. Source: Microsoft, "Naming Files, Paths, and
    /// Namespaces", reserved names; the digits written high are reserved as well.
    /// </summary>
    public static bool IsDevice(string name)
    {
        string stem = name.Split('.')[0].TrimEnd(' ').ToUpperInvariant();
        return stem is "CON" or "PRN" or "AUX" or "NUL"
            || (
                stem.Length == 4
                && (
                    stem.StartsWith("COM", StringComparison.Ordinal) || stem.StartsWith("LPT", StringComparison.Ordinal)
                )
                && "0123456789¹²³".Contains(stem[3], StringComparison.Ordinal)
            );
    }
}
