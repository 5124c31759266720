using System.Globalization;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>Small numbers in words.</summary>
internal static class Numbers
{
    private static readonly string[] Small =
    [
        "no",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
    ];

    public static string Of(int n) => n.ToString(CultureInfo.InvariantCulture);

    public static string Upper(int n) =>
        n >= 0 && n < Small.Length ? char.ToUpperInvariant(Small[n][0]) + Small[n][1..] : Of(n);

    public static string Times(int n) =>
        n switch
        {
            1 => "once",
            2 => "twice",
            _ => $"{(n >= 0 && n < Small.Length ? Small[n] : Of(n))} times",
        };

    public static string Count(int n, string one, string many) =>
        $"{(n >= 0 && n < Small.Length ? Small[n] : Of(n))} {(n == 1 ? one : many)}";
}
