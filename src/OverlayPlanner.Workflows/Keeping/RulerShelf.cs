using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>A ruler as its owner chose or measured it.</summary>
/// <param name="Name">What she calls it.</param>
/// <param name="Chord">Straight from end to end of its curve; null for a straight ruler.</param>
/// <param name="Rise">How far the curve's middle stands off the chord, above 0 and at most half of it; null for a straight ruler.</param>
/// <param name="Edges">Which edges the foot runs along.</param>
/// <param name="Usable">How far the foot can run along it; null for the arc over the chord.</param>
public sealed record OwnRuler(string Name, Length? Chord, Length? Rise, RulerEdges Edges, Length? Usable = null)
{
    /// <summary>A straight ruler.</summary>
    /// <param name="name">What she calls it.</param>
    /// <param name="length">How far the foot can run along it.</param>
    public static OwnRuler Straight(string name, Length length) => new(name, null, null, RulerEdges.Straight, length);
}

/// <summary>Which edges of a ruler the foot runs along.</summary>
public enum RulerEdges
{
    /// <summary>The outside of its curve and the inside: a disc and its cut-out, or a line cut through.</summary>
    Both,

    /// <summary>The outside of its curve alone.</summary>
    Outside,

    /// <summary>The inside of its curve alone.</summary>
    Inside,

    /// <summary>A straight edge.</summary>
    Straight,
}

/// <summary>The rulers that a quilter can choose from, and those that are hers.</summary>
public static class RulerShelf
{
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true };

    /// <summary>The curved rulers that are planned with where nobody says which: circles, then shallow arcs, both edges.</summary>
    public static IReadOnlyList<OwnRuler> Usual { get; } =
    [
        .. Ruler
            .GenericSet.Where(r => r.Edge == RulerEdge.Outside)
            .OrderBy(r => r.Rise.Inches * 2 < r.Chord.Inches - 1e-9)
            .ThenBy(r => r.Chord.Inches)
            .Select(r => new OwnRuler(r.Name, r.Chord, r.Rise, RulerEdges.Both, r.UsableLength)),
    ];

    /// <summary>Straight rulers in common lengths, 6, 9 and 13 in (handbook 3.3).</summary>
    public static IReadOnlyList<OwnRuler> UsualStraight { get; } =
    [
        OwnRuler.Straight("6 in straight", Length.FromInches(6)),
        OwnRuler.Straight("9 in straight", Length.FromInches(9)),
        OwnRuler.Straight("13 in straight", Length.FromInches(13)),
    ];

    /// <summary>Reads her rulers, each once, both edges of one together.</summary>
    /// <exception cref="InputException">The file can't be read, or a ruler in it can't be.</exception>
    public static IReadOnlyList<OwnRuler> Read(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        RulerList list = RulerList.Read(InputFiles.ReadAll(path), path);
        return
        [
            .. list
                .Curved.GroupBy(r => (r.Name, r.Chord, r.Rise, r.UsableLength))
                .Select(g => new OwnRuler(
                    g.Key.Name,
                    g.Key.Chord,
                    g.Key.Rise,
                    g.Count() > 1 ? RulerEdges.Both
                        : g.First().Edge == RulerEdge.Outside ? RulerEdges.Outside
                        : RulerEdges.Inside,
                    g.Key.UsableLength
                )),
            .. list.Straight.Select(s => OwnRuler.Straight(s.Name, s.UsableLength)),
        ];
    }

    /// <summary>Her rulers as a file that <see cref="PlanWishes.Rulers"/> takes.</summary>
    /// <param name="rulers">At least one.</param>
    /// <param name="where">How a message names the file.</param>
    /// <exception cref="InputException">A ruler can't be, or two have one name.</exception>
    public static byte[] Write(IReadOnlyList<OwnRuler> rulers, string where)
    {
        ArgumentNullException.ThrowIfNull(rulers);
        JsonArray list = [];
        foreach (OwnRuler ruler in rulers)
        {
            JsonObject one = new()
            {
                ["name"] = ruler.Name.Trim(),
                ["edge"] = ruler.Edges.ToString().ToLowerInvariant(),
            };
            foreach (
                (string field, Length? value) in new[]
                {
                    ("chord", ruler.Chord),
                    ("rise", ruler.Rise),
                    ("length", ruler.Usable),
                }
            )
            {
                if (value is { } length)
                {
                    one[field] = length.Inches;
                }
            }

            list.Add(one);
        }

        byte[] bytes = JsonSerializer.SerializeToUtf8Bytes(list, Indented);

        // Whatever is kept can be planned with.
        RulerList.Read(bytes, where);
        return bytes;
    }

    /// <summary>What a ruler is called: one of the usual set by its size in the reader's units, her own by her name for it.</summary>
    public static string NameOf(OwnRuler ruler, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(ruler);
        ArgumentNullException.ThrowIfNull(words);
        return Usual.Contains(ruler)
                ? $"{words.Say(ruler.Chord ?? Length.Zero)} {(IsHalfCircle(ruler) ? "circle" : "shallow arc")}"
            : UsualStraight.Contains(ruler) ? $"{words.Say(ruler.Usable ?? Length.Zero)} straight"
            : ruler.Name;
    }

    /// <summary>What its name does not say: both measures of a curve, or her own ruler's size; empty where the name says all.</summary>
    public static string Describe(OwnRuler ruler, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(ruler);
        ArgumentNullException.ThrowIfNull(words);
        return ruler is { Chord: { } chord, Rise: { } rise }
            ? Usual.Contains(ruler)
                ? IsHalfCircle(ruler)
                    ? ""
                    : $"{words.Say(rise)} high"
                : $"{words.Say(chord)} from end to end, {words.Say(rise)} high"
            : UsualStraight.Contains(ruler)
                ? ""
                : $"{words.Say(ruler.Usable ?? Length.Zero)} long";
    }

    /// <summary>True for a ruler whose curve is a half circle: a disc, named by its diameter.</summary>
    public static bool IsHalfCircle(OwnRuler ruler)
    {
        ArgumentNullException.ThrowIfNull(ruler);
        return ruler is { Chord: { } chord, Rise: { } rise } && Math.Abs(2 * rise.Inches - chord.Inches) < 1e-6;
    }

    /// <summary>Its edge as SVG path data, inches, the chord level from 0,0 to the right and the curve above it.</summary>
    public static string EdgeOf(OwnRuler ruler)
    {
        ArgumentNullException.ThrowIfNull(ruler);
        (double across, double bulge) = ruler is { Chord: { } chord, Rise: { } rise }
            ? (chord.Inches, 2 * rise.Inches / chord.Inches)
            : ((ruler.Usable ?? Length.Zero).Inches, 0);

        // With y down a positive bulge, to the left of travel as seen, rises above a chord that runs right.
        return SvgWay.Of(new Edge<ClothSpace>(new(0, 0), new(across, 0), bulge));
    }

    /// <summary>How wide and how high that edge is, inches.</summary>
    public static (double Width, double Height) SizeOf(OwnRuler ruler)
    {
        ArgumentNullException.ThrowIfNull(ruler);
        return ((ruler.Chord ?? ruler.Usable ?? Length.Zero).Inches, (ruler.Rise ?? Length.Zero).Inches);
    }
}
