using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing;

/// <summary>The user's rulers, as listed in a file.</summary>
/// <remarks>
/// A JSON list; each ruler has <c>name</c> and <c>edge</c>: <c>outside</c>, <c>inside</c>, <c>both</c> (a disc and its cut-out,
/// or a line cut through) or <c>straight</c>. A curved one has <c>chord</c> and <c>rise</c>, measured at its edge, and
/// <c>length</c>, how much of the edge the foot can run along (the arc over that chord where it is left out); a straight one
/// has <c>length</c>. Lengths are numbers in inches, or texts such as <c>"6 1/2"</c> and <c>"165mm"</c>. A ruler whose two edges
/// differ is listed twice, once for each.
/// </remarks>
/// <param name="Curved">Curved edges; one that is used on both sides stands twice.</param>
/// <param name="Straight">Straight rulers.</param>
public sealed record RulerList(IReadOnlyList<Ruler> Curved, IReadOnlyList<StraightRuler> Straight)
{
    private const int MostRulers = 200;
    private const double Longest = 100;

    private static readonly string[] Fields = ["name", "edge", "chord", "rise", "length"];

    /// <summary>Reads a list.</summary>
    /// <param name="utf8">The file's bytes.</param>
    /// <param name="name">The file's name, for messages.</param>
    /// <exception cref="InputException">Not such a list, or a ruler that can't be; says which and why.</exception>
    public static RulerList Read(ReadOnlyMemory<byte> utf8, string name)
    {
        JsonDocument document;
        try
        {
            document = JsonDocument.Parse(utf8);
        }
        catch (JsonException e)
        {
            throw new InputException(
                "The file is no JSON",
                string.Create(CultureInfo.InvariantCulture, $"{name}, line {(e.LineNumber ?? 0) + 1}"),
                "Give a list: [ { \"name\": \"6 in circle\", \"edge\": \"both\", \"chord\": 6, \"rise\": 3 } ].",
                e
            );
        }

        using (document)
        {
            if (document.RootElement.ValueKind != JsonValueKind.Array)
            {
                throw new InputException(
                    "The rulers are no list",
                    name,
                    "Give a list: [ { \"name\": \"6 in circle\", \"edge\": \"both\", \"chord\": 6, \"rise\": 3 } ]."
                );
            }

            List<Ruler> curved = [];
            List<StraightRuler> straight = [];
            int at = 0;
            foreach (JsonElement e in document.RootElement.EnumerateArray())
            {
                at++;
                ReadOne(e, string.Create(CultureInfo.InvariantCulture, $"{name}, ruler {at}"), curved, straight);
            }

            if (at == 0)
            {
                throw new InputException(
                    "The list has no rulers",
                    name,
                    "List one, or say --rulers none for straight lines."
                );
            }

            if (at > MostRulers)
            {
                throw new InputException("The list has more than 200 rulers", name, "List those that you use.");
            }

            Require(curved, straight, name);
            return new(curved, straight);
        }
    }

    /// <summary>Checks rulers wherever they come from.</summary>
    /// <exception cref="InputException">A ruler can't be, or two are the same.</exception>
    internal static void Require(
        IReadOnlyList<Ruler>? curved,
        IReadOnlyList<StraightRuler>? straight,
        string where = "--rulers"
    )
    {
        HashSet<(string, RulerEdge?)> seen = [];
        foreach (Ruler r in curved ?? [])
        {
            Check(r.Name, r.Chord, r.Rise, r.UsableLength, $"{where}: {r.Name}");
            if (!seen.Add((r.Name.Trim().ToUpperInvariant(), r.Edge)))
            {
                throw Twice(r.FullName, where);
            }
        }

        foreach (StraightRuler r in straight ?? [])
        {
            CheckLength(r.UsableLength, $"{where}: {r.Name}");
            if (!seen.Add((r.Name.Trim().ToUpperInvariant(), null)))
            {
                throw Twice(r.Name, where);
            }
        }
    }

    private static InputException Twice(string name, string where) =>
        new(
            $"The ruler \"{name}\" is listed twice",
            where,
            "Give each edge of each ruler once, under a name of its own."
        );

    private static void ReadOne(JsonElement e, string where, List<Ruler> curved, List<StraightRuler> straight)
    {
        if (e.ValueKind != JsonValueKind.Object)
        {
            throw new InputException(
                "A ruler is no object { … }",
                where,
                "Give its name, edge, chord, rise and length."
            );
        }

        string? odd = e.EnumerateObject().Select(p => p.Name).FirstOrDefault(n => !Fields.Contains(n));
        if (odd is not null)
        {
            throw new InputException($"A ruler has no field \"{odd}\"", where, $"It has: {string.Join(", ", Fields)}.");
        }

        string name = Text(e, "name", where);
        where = $"{where} ({name})";
        string edge = Text(e, "edge", where);
        if (edge == "straight")
        {
            if (e.TryGetProperty("chord", out _) || e.TryGetProperty("rise", out _))
            {
                throw new InputException("A straight ruler has no chord and no rise", where, "Give its length alone.");
            }

            straight.Add(
                new(
                    name,
                    Measure(e, "length", where)
                        ?? throw new InputException(
                            "The length is missing",
                            where,
                            "Give how long its edge is, inches."
                        )
                )
            );
            return;
        }

        RulerEdge[] edges = edge switch
        {
            "outside" => [RulerEdge.Outside],
            "inside" => [RulerEdge.Inside],
            "both" => [RulerEdge.Outside, RulerEdge.Inside],
            _ => throw new InputException(
                $"A ruler has no edge \"{edge}\"",
                where,
                "Give outside, inside, both, or straight."
            ),
        };
        Length chord =
            Measure(e, "chord", where)
            ?? throw new InputException(
                "The chord is missing",
                where,
                "Measure straight from end to end of its curve."
            );
        Length rise =
            Measure(e, "rise", where)
            ?? throw new InputException(
                "The rise is missing",
                where,
                "Measure how far the curve's middle stands off the chord."
            );
        CheckCurve(chord, rise, where);
        Length length = Measure(e, "length", where) ?? ArcShape.LengthOf(chord, rise);
        curved.AddRange(edges.Select(side => new Ruler(name, chord, rise, side, length)));
    }

    private static void Check(string name, Length chord, Length rise, Length length, string where)
    {
        if (string.IsNullOrWhiteSpace(name))
        {
            throw new InputException("A ruler has no name", where, "Call it what you call it.");
        }

        CheckCurve(chord, rise, where);
        CheckLength(length, where);

        // No edge is longer than its circle.
        double round = 2 * Math.PI * ArcShape.RadiusOf(chord, rise).Inches;
        if (length.Inches > round + 1e-6)
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"A length of {length.Inches:0.###} in is more than the whole circle, {round:0.##} in"
                ),
                where,
                "Give how much of the edge the foot can run along."
            );
        }
    }

    private static void CheckCurve(Length chord, Length rise, string where)
    {
        CheckLength(chord, where);
        if (!(rise.Inches > 0 && rise.Inches <= chord.Inches / 2 + 1e-9))
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"A rise of {rise.Inches:0.###} in over a chord of {chord.Inches:0.###} in is no arc up to a half circle"
                ),
                where,
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"Measure the rise again: above 0 and at most half the chord, {chord.Inches / 2:0.###} in."
                )
            );
        }
    }

    private static void CheckLength(Length length, string where)
    {
        if (!(length.Inches > 0 && length.Inches <= Longest))
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"A ruler can't measure {length.Inches:0.###} in"),
                where,
                "Give lengths above 0 and at most 100 in."
            );
        }
    }

    private static string Text(JsonElement e, string field, string where) =>
        e.TryGetProperty(field, out JsonElement v)
        && v.ValueKind == JsonValueKind.String
        && !string.IsNullOrWhiteSpace(v.GetString())
            ? v.GetString()!.Trim()
            : throw new InputException($"The {field} is missing", where, $"Give \"{field}\" as a text in quotes.");

    private static Length? Measure(JsonElement e, string field, string where)
    {
        if (!e.TryGetProperty(field, out JsonElement v))
        {
            return null;
        }

        if (v.ValueKind == JsonValueKind.Number && v.TryGetDouble(out double inches) && double.IsFinite(inches))
        {
            return Length.FromInches(inches);
        }

        return v.ValueKind == JsonValueKind.String && Length.TryParse(v.GetString(), out Length length)
            ? length
            : throw new InputException(
                $"The {field} is no length",
                where,
                "Give inches (6, 6.5, \"6 1/2\") or \"165mm\"."
            );
    }
}
