using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

/// <summary>What every file begins with: format and version.</summary>
internal static class FileHeader
{
    private const int Deepest = 64;

    public static JsonElement Parse(ReadOnlyMemory<byte> utf8, string name)
    {
        ReadOnlyMemory<byte> body = utf8.Span.StartsWith("\uFEFF"u8) ? utf8[3..] : utf8;
        if (!System.Text.Unicode.Utf8.IsValid(body.Span))
        {
            throw new InputException(
                "The file is no UTF-8 text, so it is no JSON",
                name,
                "Give the file that the program wrote, not a picture or a packed file."
            );
        }

        try
        {
            using JsonDocument document = JsonDocument.Parse(
                body,
                new JsonDocumentOptions { MaxDepth = Deepest, AllowTrailingCommas = false }
            );
            if (body.Span.IndexOf("\\u"u8) >= 0)
            {
                RequireText(document.RootElement);
            }

            return document.RootElement.Clone();
        }
        catch (JsonException e)
        {
            string at = string.Create(
                CultureInfo.InvariantCulture,
                $"{name}, line {e.LineNumber + 1}, byte {e.BytePositionInLine + 1}"
            );
            throw new InputException(
                "The file is no valid JSON, or it nests deeper than any file of this kind",
                at,
                "Give the file that the program wrote, whole.",
                e
            );
        }
        catch (InvalidOperationException e)
        {
            throw new InputException(
                "The file holds half of a two-part character (a \\ud800 … \\udfff without its partner)",
                name,
                "Write the character itself, or leave it out.",
                e
            );
        }
    }

    // Escapes can spell what is no text; only reading a string shows it.
    private static void RequireText(JsonElement e)
    {
        if (e.ValueKind == JsonValueKind.String)
        {
            _ = e.GetString();
        }
        else if (e.ValueKind == JsonValueKind.Array)
        {
            foreach (JsonElement item in e.EnumerateArray())
            {
                RequireText(item);
            }
        }
        else if (e.ValueKind == JsonValueKind.Object)
        {
            foreach (JsonProperty p in e.EnumerateObject())
            {
                _ = p.Name;
                RequireText(p.Value);
            }
        }
    }

    public static void Check(JsonFields fields, string format, int newest, string name, bool unitMayLack = false)
    {
        string? found = fields.OptionalText("format");
        if (found != format)
        {
            throw new InputException(
                found is null ? "The file does not say its format" : $"The file is of the format {found}",
                name,
                $"Give a file of the format {format}."
            );
        }

        int version = fields.OptionalInteger("version") ?? 0;
        if (version > newest)
        {
            string text = string.Create(
                CultureInfo.InvariantCulture,
                $"{format} version {version} is later than this program's {newest}"
            );
            throw new InputException(text, name, "Bring the program up to date.");
        }

        if (version < 1)
        {
            throw new InputException(
                "The file does not say its version",
                name,
                "Give the file that the program wrote."
            );
        }

        string? unit = fields.OptionalText("unit");
        if (unit is not "in" && !(unit is null && unitMayLack))
        {
            throw new InputException(
                $"The file's unit is {unit ?? "missing"}, not inches",
                name,
                "Give lengths in inches: \"unit\": \"in\"."
            );
        }
    }
}
