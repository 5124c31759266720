using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// One profile file being read: each field is asked for by name, errors say the whole place, and what nobody asked for is kept.
/// </summary>
internal sealed class ProfileFile
{
    private readonly Dictionary<string, JsonElement> left = [];
    private readonly string name;

    private ProfileFile(JsonElement root, string name)
    {
        this.name = name;
        if (root.ValueKind != JsonValueKind.Object)
        {
            throw Wrong("its outermost part", "an object { … }");
        }

        foreach (JsonProperty p in root.EnumerateObject())
        {
            left[p.Name] = p.Value;
        }
    }

    /// <summary>What nobody has asked for so far.</summary>
    public IReadOnlyDictionary<string, JsonElement> Rest => left.ToDictionary(p => p.Key, p => p.Value.Clone());

    public static ProfileFile Open(ReadOnlyMemory<byte> utf8, string name, string format, int newest)
    {
        ReadOnlyMemory<byte> body = utf8.Span.StartsWith("\uFEFF"u8) ? utf8[3..] : utf8;
        JsonElement root;
        try
        {
            using JsonDocument document = JsonDocument.Parse(body, new JsonDocumentOptions { MaxDepth = 64 });
            root = document.RootElement.Clone();
        }
        catch (JsonException e)
        {
            string at = string.Create(
                CultureInfo.InvariantCulture,
                $"{name}, line {e.LineNumber + 1}, byte {e.BytePositionInLine + 1}"
            );
            throw new InputException(
                "The file is no valid JSON",
                at,
                "Give the file that the program wrote, whole.",
                e
            );
        }

        ProfileFile file = new(root, name);
        string? found = file.OptionalText("format");
        if (found != format)
        {
            throw new InputException(
                found is null ? "The file does not say its format" : $"The file is of the format {found}",
                name,
                $"Give a file of the format {format}."
            );
        }

        int version = file.Integer("version");
        if (version > newest)
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{format} version {version} is later than this program's {newest}"
                ),
                name,
                "Bring the program up to date."
            );
        }

        return version >= 1 ? file : throw file.Wrong("version", "a version from 1");
    }

    public JsonElement? Element(string field) => Take(field) is { } e ? e.Clone() : null;

    public string? OptionalText(string field) =>
        Take(field) is not { } e ? null
        : e.ValueKind == JsonValueKind.String ? e.GetString()
        : throw Wrong(field, "a text in quotes");

    public int Integer(string field) =>
        Require(field) is { ValueKind: JsonValueKind.Number } e && e.TryGetInt32(out int i)
            ? i
            : throw Wrong(field, "a whole number");

    public int Pixels(string field) =>
        Integer(field) is >= 1 and <= 100_000 and var n ? n : throw Wrong(field, "1 to 100,000 pixels");

    public double Number(string field) => NumberOf(Require(field), field);

    public double[] Numbers(string field, int count) => NumbersOf(Require(field), field, count);

    /// <summary>A square matrix as rows, or null.</summary>
    public double[][]? OptionalSquare(string field)
    {
        if (Take(field) is not { } e)
        {
            return null;
        }

        if (e.ValueKind != JsonValueKind.Array)
        {
            throw Wrong(field, "a list of rows");
        }

        int n = e.GetArrayLength();
        return [.. e.EnumerateArray().Select((row, i) => NumbersOf(row, At(field, i), n))];
    }

    public InputException Wrong(string field, string wanted) =>
        new(
            $"The file has something else where {wanted} should stand",
            $"{name}, {field}",
            "Mend that place, or make the file again."
        );

    public static byte[] Write(
        string format,
        int version,
        Action<Utf8JsonWriter> body,
        IReadOnlyDictionary<string, JsonElement> unknown
    )
    {
        using MemoryStream stream = new();
        JsonWriterOptions options = new()
        {
            Indented = true,
            NewLine = "\n",
            Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        };
        using (Utf8JsonWriter json = new(stream, options))
        {
            json.WriteStartObject();
            json.WriteString("format", format);
            json.WriteNumber("version", version);
            body(json);
            foreach ((string field, JsonElement value) in unknown)
            {
                json.WritePropertyName(field);
                value.WriteTo(json);
            }

            json.WriteEndObject();
        }

        stream.WriteByte((byte)'\n');
        return stream.ToArray();
    }

    public static void WriteNumbers(Utf8JsonWriter json, IEnumerable<double> numbers)
    {
        json.WriteStartArray();
        foreach (double v in numbers)
        {
            json.WriteNumberValue(v);
        }

        json.WriteEndArray();
    }

    public static void WriteElement(Utf8JsonWriter json, string field, JsonElement? element)
    {
        json.WritePropertyName(field);
        if (element is { } e)
        {
            e.WriteTo(json);
        }
        else
        {
            json.WriteNullValue();
        }
    }

    private static string At(string field, int i) => string.Create(CultureInfo.InvariantCulture, $"{field}[{i}]");

    private double[] NumbersOf(JsonElement e, string field, int count)
    {
        if (e.ValueKind != JsonValueKind.Array || e.GetArrayLength() != count)
        {
            throw Wrong(field, string.Create(CultureInfo.InvariantCulture, $"a list of {count} numbers"));
        }

        return [.. e.EnumerateArray().Select((x, i) => NumberOf(x, At(field, i)))];
    }

    private double NumberOf(JsonElement e, string field) =>
        e.ValueKind == JsonValueKind.Number && e.TryGetDouble(out double v) && double.IsFinite(v)
            ? v
            : throw Wrong(field, "a number");

    private JsonElement Require(string field) =>
        Take(field)
        ?? throw new InputException($"The file lacks the field \"{field}\"", name, "Add it, or make the file again.");

    private JsonElement? Take(string field) =>
        left.Remove(field, out JsonElement e) && e.ValueKind != JsonValueKind.Null ? e : null;
}
