using System.Buffers;
using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Quilts.Files;

/// <summary>Edits as JSON, <c>overlayplanner.edits</c> version 1.</summary>
public static class EditsFile
{
    /// <summary>The format's name.</summary>
    public const string Format = "overlayplanner.edits";

    /// <summary>The version written.</summary>
    public const int Version = 1;

    /// <summary>Most edits that a file may hold; nobody makes more by hand.</summary>
    public const int MostEdits = 20_000;

    /// <summary>Reads edits. Their numbers and patterns are checked; whether a map has what they name is not known here.</summary>
    /// <param name="utf8">The file's bytes.</param>
    /// <param name="name">The file's name, for messages.</param>
    /// <exception cref="InputException">Not such a file, of a later version, broken, or an edit is unknown; says where.</exception>
    public static EditList Read(ReadOnlyMemory<byte> utf8, string name)
    {
        JsonFields fields = JsonFields.OfFile(FileHeader.Parse(utf8, name), name);
        FileHeader.Check(fields, Format, Version, name, unitMayLack: true);
        string? before = null;
        IReadOnlyList<MapEdit> edits = fields.List(
            "edits",
            (e, place) =>
            {
                MapEdit edit = ReadOne(e, place);
                string text = JsonSerializer.Serialize(e);
                if (text == before)
                {
                    throw new InputException(
                        "The same edit stands twice, one after the other",
                        place,
                        "Take one of the two out."
                    );
                }

                before = text;
                return edit;
            }
        );
        if (edits.Count > MostEdits)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"The file has {edits.Count} edits"),
                name,
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"Give at most {MostEdits}; mend the map and go on from there."
                )
            );
        }

        return new(edits) { Unknown = fields.Rest };
    }

    /// <summary>Writes edits: UTF-8 JSON, one edit on a line.</summary>
    public static byte[] Write(EditList list)
    {
        ArgumentNullException.ThrowIfNull(list);
        ArrayBufferWriter<byte> buffer = new();
        using (Utf8JsonWriter json = new(buffer, JsonOutput.Options))
        {
            json.WriteStartObject();
            json.WriteString("format", Format);
            json.WriteNumber("version", Version);
            json.WriteString("unit", "in");
            json.WriteItems("edits", list.Edits, (j, e) => j.WriteRawValue(Line(e)));
            json.WriteUnknown(list.Unknown);
            json.WriteEndObject();
        }

        return [.. buffer.WrittenSpan, (byte)'\n'];
    }

    private static byte[] Line(MapEdit edit)
    {
        ArrayBufferWriter<byte> buffer = new();
        using (Utf8JsonWriter json = new(buffer, JsonOutput.Options with { Indented = false }))
        {
            EditFields.Write(json, edit);
        }

        return buffer.WrittenSpan.ToArray();
    }

    private static MapEdit ReadOne(JsonElement e, string place)
    {
        MapEdit edit = EditFields.Read(e, place);
        try
        {
            EditLimits.Require(edit);
            return edit;
        }
        catch (InputException x)
        {
            throw new InputException(x.What, $"{place}: {x.Where}", x.Remedy, x);
        }
    }
}
