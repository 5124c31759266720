using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

/// <summary>What every file begins with: format and version.</summary>
internal static class FileHeader
{
    public static JsonElement Parse(ReadOnlyMemory<byte> utf8, string name)
    {
        ReadOnlyMemory<byte> body = utf8.Span.StartsWith("\uFEFF"u8) ? utf8[3..] : utf8;
        try
        {
            using JsonDocument document = JsonDocument.Parse(
                body,
                new JsonDocumentOptions { MaxDepth = 64, AllowTrailingCommas = false }
            );
            return document.RootElement.Clone();
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
    }

    public static void Check(JsonFields fields, string format, int newest, string name)
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
        if (unit is not "in")
        {
            throw new InputException(
                $"The file's unit is {unit ?? "missing"}, not inches",
                name,
                "Give lengths in inches: \"unit\": \"in\"."
            );
        }
    }
}
