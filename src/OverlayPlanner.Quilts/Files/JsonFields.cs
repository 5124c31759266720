using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

/// <summary>
/// One JSON object being read: each field is asked for by name, errors say the whole place, and what nobody asked for is kept.
/// </summary>
internal sealed class JsonFields
{
    private readonly Dictionary<string, JsonElement> left = [];
    private readonly string place;
    private readonly string joint;

    /// <param name="element">The object.</param>
    /// <param name="place">Where it stands, for messages: a path of fields.</param>
    public JsonFields(JsonElement element, string place)
        : this(element, place, ".") { }

    private JsonFields(JsonElement element, string place, string joint)
    {
        this.place = place;
        this.joint = joint;
        if (element.ValueKind != JsonValueKind.Object)
        {
            throw Wrong(place, "an object { … }");
        }

        foreach (JsonProperty p in element.EnumerateObject())
        {
            left[p.Name] = p.Value;
        }
    }

    /// <summary>The outermost object of a file; places of its fields begin with the file's name.</summary>
    public static JsonFields OfFile(JsonElement root, string name) => new(root, name, ": ");

    public UnknownFields Rest =>
        left.Count == 0 ? UnknownFields.None : new(left.ToDictionary(p => p.Key, p => p.Value.Clone()));

    public JsonFields Object(string name) => new(Take(name) ?? throw Missing(name), At(name));

    public JsonElement? Element(string name) => Take(name);

    public string Text(string name) => OptionalText(name) ?? throw Missing(name);

    public string? OptionalText(string name) =>
        Take(name) is not { } e ? null
        : e.ValueKind == JsonValueKind.String ? e.GetString()
        : throw Wrong(At(name), "a text in quotes");

    public double Number(string name) => OptionalNumber(name) ?? throw Missing(name);

    public double? OptionalNumber(string name) => Take(name) is { } e ? NumberOf(e, At(name)) : null;

    public double? OptionalNumber(string name, double least, double most) =>
        OptionalNumber(name) is not { } v ? null
        : v >= least && v <= most ? v
        : throw Wrong(
            At(name),
            double.IsPositiveInfinity(most)
                ? string.Create(CultureInfo.InvariantCulture, $"a number of at least {least}")
                : string.Create(CultureInfo.InvariantCulture, $"a number from {least} to {most}")
        );

    public int? OptionalInteger(string name) =>
        Take(name) is not { } e ? null
        : e.ValueKind == JsonValueKind.Number && e.TryGetInt32(out int i) ? i
        : throw Wrong(At(name), "a whole number");

    public bool Flag(string name, bool otherwise = false) =>
        Take(name) is not { } e ? otherwise
        : e.ValueKind is JsonValueKind.True or JsonValueKind.False ? e.GetBoolean()
        : throw Wrong(At(name), "true or false");

    public T? OptionalWord<T>(string name)
        where T : struct, Enum
    {
        if (OptionalText(name) is not { } text)
        {
            return null;
        }

        return Words<T>.TryParse(text, out T value) ? value : throw Wrong(At(name), $"one of {Words<T>.List}");
    }

    public T Word<T>(string name)
        where T : struct, Enum => OptionalWord<T>(name) ?? throw Missing(name);

    public IReadOnlyList<T> List<T>(string name, Func<JsonElement, string, T> item, bool required = true)
    {
        if (Take(name) is not { } e)
        {
            return required ? throw Missing(name) : [];
        }

        return ListOf(e, At(name), item);
    }

    public Point<ClothSpace> Point(string name) => PointOf(Take(name) ?? throw Missing(name), At(name));

    public static IReadOnlyList<T> ListOf<T>(JsonElement e, string place, Func<JsonElement, string, T> item)
    {
        if (e.ValueKind != JsonValueKind.Array)
        {
            throw Wrong(place, "a list [ … ]");
        }

        List<T> items = new(e.GetArrayLength());
        foreach (JsonElement x in e.EnumerateArray())
        {
            items.Add(item(x, string.Create(CultureInfo.InvariantCulture, $"{place}[{items.Count}]")));
        }

        return items;
    }

    public static string TextOf(JsonElement e, string place) =>
        e.ValueKind == JsonValueKind.String ? e.GetString()! : throw Wrong(place, "a text in quotes");

    public static double NumberOf(JsonElement e, string place) =>
        e.ValueKind == JsonValueKind.Number && e.TryGetDouble(out double v) && double.IsFinite(v) && Math.Abs(v) < 1e7
            ? v
            : throw Wrong(place, "a number between minus and plus ten million");

    public static Point<ClothSpace> PointOf(JsonElement e, string place)
    {
        IReadOnlyList<double> xy = ListOf(e, place, NumberOf);
        return xy.Count == 2 ? new(xy[0], xy[1]) : throw Wrong(place, "two numbers [x, y]");
    }

    public static InputException Wrong(string place, string wanted) =>
        new(
            $"The file has something else where {wanted} should stand",
            place,
            "Mend that place, or make the file again."
        );

    private JsonElement? Take(string name) =>
        left.Remove(name, out JsonElement e) && e.ValueKind != JsonValueKind.Null ? e : null;

    private string At(string name) => place + joint + name;

    private InputException Missing(string name) =>
        new($"The file lacks the field \"{name}\"", place, "Add it, or make the file again.");
}

/// <summary>An enum's words as files have them: lower case.</summary>
internal static class Words<T>
    where T : struct, Enum
{
    private static readonly Dictionary<string, T> ByWord = Enum.GetValues<T>()
        .ToDictionary(v => v.ToString().ToLowerInvariant(), v => v, StringComparer.Ordinal);

    public static string List => string.Join(", ", ByWord.Keys);

    public static bool TryParse(string text, out T value) => ByWord.TryGetValue(text, out value);

    public static string Of(T value) => value.ToString().ToLowerInvariant();
}
