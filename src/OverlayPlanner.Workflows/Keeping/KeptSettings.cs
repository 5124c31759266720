using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>What <c>quilt.settings.json</c> says: the name, how often the quilt was saved, and fields that this version does not know.</summary>
internal sealed class KeptSettings
{
    private const string Format = "overlayplanner.kept-quilt";
    private const int Version = 1;
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true };
    private readonly JsonObject fields;

    private KeptSettings(JsonObject fields) => this.fields = fields;

    /// <summary>What the user calls the quilt.</summary>
    public string Name => fields["name"]!.GetValue<string>();

    /// <summary>Number of saves, 0 where the file does not say it.</summary>
    public long Revision => fields["revision"] is JsonValue v && v.TryGetValue(out long n) && n >= 0 ? n : 0;

    /// <summary>Settings of a new quilt.</summary>
    public static KeptSettings New(string name) => new(new JsonObject { ["name"] = name });

    /// <summary>Reads a settings file.</summary>
    /// <param name="bytes">The file.</param>
    /// <param name="where">How a message names it.</param>
    /// <exception cref="InputException">It is no settings file, or one of a later version.</exception>
    public static KeptSettings Parse(ReadOnlySpan<byte> bytes, string where)
    {
        try
        {
            JsonObject read = Fields(bytes);
            if (read["format"]?.GetValue<string>() == Format && read["name"]?.GetValue<string>() is not null)
            {
                int version = read["version"]?.GetValue<int>() ?? 0;
                if (version > Version)
                {
                    throw new InputException(
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"A later version of the program wrote this quilt: {Format} version {version}"
                        ),
                        where,
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"Use the newer program; this one reads version {Version}."
                        )
                    );
                }

                if (version >= 1)
                {
                    return new(read);
                }
            }
        }
        catch (Exception e)
            when (e is JsonException or InvalidOperationException or FormatException or ArgumentException)
        {
            throw Unreadable(where, e);
        }

        throw Unreadable(where, null);
    }

    /// <summary>The file's bytes.</summary>
    /// <param name="name">The name from now on.</param>
    /// <param name="revision">The number of this save.</param>
    /// <param name="given">Fields to be set, as a JSON object; those that it does not name are kept.</param>
    /// <exception cref="InputException"><paramref name="given"/> is no JSON object.</exception>
    public byte[] Write(string name, long revision, ReadOnlyMemory<byte>? given = null)
    {
        JsonObject written = new()
        {
            ["format"] = Format,
            ["version"] = Version,
            ["name"] = name,
            ["revision"] = revision,
        };
        try
        {
            JsonObject more = given is { } bytes ? Fields(bytes.Span) : [];
            string[] own = [.. written.Select(f => f.Key)];
            if (more["name"]?.GetValue<string>() is { } other)
            {
                written["name"] = other;
            }

            foreach ((string key, JsonNode? value) in fields.Concat(more).Where(f => !own.Contains(f.Key)))
            {
                written[key] = value?.DeepClone();
            }
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or ArgumentException)
        {
            throw Unreadable(QuiltStore.SettingsFile, e);
        }

        return JsonSerializer.SerializeToUtf8Bytes(written, Indented);
    }

    /// <summary>Tells two states of a quilt apart.</summary>
    public static string Stamp(ReadOnlySpan<byte> bytes, long revision) =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"{revision}-{Convert.ToHexStringLower(SHA256.HashData(bytes))[..16]}"
        );

    private static JsonObject Fields(ReadOnlySpan<byte> bytes) =>
        JsonNode.Parse(bytes) as JsonObject ?? throw new JsonException("This is no JSON object.");

    private static InputException Unreadable(string where, Exception? cause)
    {
        const string What = "This quilt's settings can't be read";
        const string Remedy = "Import the quilt from its last export, or bring the photograph again as a new quilt.";
        return cause is null ? new(What, where, Remedy) : new(What, where, Remedy, cause);
    }
}
