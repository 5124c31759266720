using System.Text.Encodings.Web;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

internal static class JsonOutput
{
    public static readonly JsonWriterOptions Options = new()
    {
        Indented = true,
        NewLine = "\n",
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static void WriteItems<T>(
        this Utf8JsonWriter json,
        string name,
        IEnumerable<T> items,
        Action<Utf8JsonWriter, T> write
    )
    {
        json.WriteStartArray(name);
        foreach (T item in items)
        {
            write(json, item);
        }

        json.WriteEndArray();
    }

    public static void WriteTexts(this Utf8JsonWriter json, string name, IEnumerable<string> texts)
    {
        json.WriteStartArray(name);
        foreach (string text in texts)
        {
            json.WriteStringValue(text);
        }

        json.WriteEndArray();
    }

    public static void WriteOptional(this Utf8JsonWriter json, string name, string? text)
    {
        if (text is null)
        {
            json.WriteNull(name);
        }
        else
        {
            json.WriteString(name, text);
        }
    }

    public static void WriteOptional(this Utf8JsonWriter json, string name, int? number)
    {
        if (number is { } n)
        {
            json.WriteNumber(name, n);
        }
        else
        {
            json.WriteNull(name);
        }
    }

    public static void WritePoint(this Utf8JsonWriter json, Point<ClothSpace> p)
    {
        json.WriteStartArray();
        json.WriteNumberValue(p.X);
        json.WriteNumberValue(p.Y);
        json.WriteEndArray();
    }

    public static void WriteUnknown(this Utf8JsonWriter json, UnknownFields unknown)
    {
        foreach ((string name, JsonElement value) in unknown.Values)
        {
            json.WritePropertyName(name);
            value.WriteTo(json);
        }
    }
}
