using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing;

/// <summary>A kind of batting, with the widest circle without a stitch that it allows.</summary>
/// <param name="Name">Its name on the command line.</param>
/// <param name="WidestGap">
/// Diameter of the circle; where handbook 5 has a range or two sources that differ, the smaller figure.
/// </param>
public sealed record Batting(string Name, Length WidestGap)
{
    /// <summary>Handbook 5, from makers' package texts and judges' lists; the label on the bag comes before it.</summary>
    public static IReadOnlyList<Batting> All { get; } =
    [
        new("cotton", Length.FromInches(8)),
        new("cotton-scrim", Length.FromInches(8)),
        new("cotton-unneedled", Length.FromInches(1.5)),
        new("cotton-polyester", Length.FromInches(2)),
        new("wool", Length.FromInches(3)),
        new("polyester", Length.FromInches(2)),
        new("polyester-high-loft", Length.FromInches(3)),
        new("bamboo", Length.FromInches(8)),
        new("unlabeled", Length.FromInches(1)),
    ];

    /// <summary>Reads a batting's name or a length.</summary>
    /// <exception cref="InputException">It is neither.</exception>
    public static Length WidestGapOf(string words)
    {
        ArgumentNullException.ThrowIfNull(words);
        Batting? known = All.FirstOrDefault(b =>
            string.Equals(b.Name, words.Trim(), StringComparison.OrdinalIgnoreCase)
        );
        return known?.WidestGap
            ?? (
                Length.TryParse(words, out Length length)
                    ? length
                    : throw new InputException(
                        $"\"{words}\" is neither a length nor a batting",
                        "--fill",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"Give what the label allows, such as 4, or one of {string.Join(", ", All.Select(b => b.Name))}."
                        )
                    )
            );
    }
}
