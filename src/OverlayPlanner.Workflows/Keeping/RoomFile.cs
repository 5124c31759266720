using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// The quilter's settings on the disk: <c>room.json</c> in the quilts' root, and her rulers beside it. Written whole or not at all. A file
/// that can't be read is never written over: it is put aside first, under a name of its own.
/// </summary>
public static class RoomFile
{
    /// <summary>Name of the settings' file.</summary>
    public const string FileName = "room.json";

    /// <summary>Name of the rulers' file.</summary>
    public const string RulersFile = "rulers.json";

    private const string Format = "overlayplanner.room";
    private const int Version = 1;
    private const long MostBytes = 1_000_000;
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true };

    /// <summary>What was kept.</summary>
    /// <param name="root">The quilts' folder.</param>
    /// <returns>The settings, and why they or the rulers could not be read: then the usual ones are given.</returns>
    public static (RoomSettings Settings, string? Trouble) Read(string root)
    {
        ArgumentException.ThrowIfNullOrEmpty(root);
        string path = Path.Combine(root, FileName);
        if (!File.Exists(path))
        {
            return (new RoomSettings(), null);
        }

        RoomSettings settings;
        try
        {
            settings = Parse(Fields(path), root);
        }
        catch (InputException e)
        {
            return (new RoomSettings { Asked = true }, $"{e.What}. {e.Remedy}");
        }

        try
        {
            if (settings.Rulers is { } rulers && rulers != "none")
            {
                RulerShelf.Read(rulers);
            }

            return (settings, null);
        }
        catch (InputException e)
        {
            return (
                settings with
                {
                    Rulers = null,
                },
                $"Your rulers can't be read: {e.What}. Until you choose them again, the usual set is planned with."
            );
        }
    }

    /// <summary>Keeps settings, and rulers where they are given.</summary>
    /// <param name="root">The quilts' folder.</param>
    /// <param name="settings">The settings; a path of rulers must be the one in this folder.</param>
    /// <param name="rulers">Her own rulers, or null to leave the file of rulers alone. An empty list leaves it alone too.</param>
    /// <returns>The settings as kept: with rulers, they name the rulers' file.</returns>
    /// <exception cref="InputException">A value can't be, or the folder can't be written; nothing was changed.</exception>
    public static RoomSettings Write(string root, RoomSettings settings, IReadOnlyList<OwnRuler>? rulers = null)
    {
        ArgumentException.ThrowIfNullOrEmpty(root);
        ArgumentNullException.ThrowIfNull(settings);
        settings.Require();
        string path = Path.Combine(root, FileName);
        string rulersPath = Path.Combine(root, RulersFile);
        OutputFiles output = new(force: true);
        if (rulers is { Count: > 0 })
        {
            output.Add(rulersPath, RulerShelf.Write(rulers, rulersPath));
            settings = settings with { Rulers = rulersPath };
        }

        using StoreLock held = StoreLock.Take(root);
        JsonObject more = [];
        if (File.Exists(path))
        {
            try
            {
                more = Fields(path);
                Parse(more, root);
            }
            catch (InputException)
            {
                more = [];
                PutAside(path);
            }
        }

        if (rulers is { Count: > 0 } && File.Exists(rulersPath) && !CanBeRead(rulersPath))
        {
            PutAside(rulersPath);
        }

        JsonObject written = new()
        {
            ["format"] = Format,
            ["version"] = Version,
            ["units"] = settings.Units == LengthUnits.Inches ? "inches" : "millimeters",
            ["footInches"] = settings.Foot?.Inches,
            ["throatInches"] = settings.Throat?.Inches,
            ["rulers"] = settings.Rulers switch
            {
                null => "usual",
                "none" => "none",
                _ => "own",
            },
            ["asked"] = settings.Asked,
            ["walking"] = settings.Walking,
        };

        // Fields of a friend's tool, or of a version between, are carried through.
        foreach ((string key, JsonNode? value) in more.Where(f => !written.ContainsKey(f.Key)).ToArray())
        {
            written[key] = value?.DeepClone();
        }

        output.Add(path, JsonSerializer.SerializeToUtf8Bytes(written, Indented));
        output.Commit();
        return settings;
    }

    private static bool CanBeRead(string rulers)
    {
        try
        {
            RulerShelf.Read(rulers);
            return true;
        }
        catch (InputException)
        {
            return false;
        }
    }

    private static void PutAside(string path)
    {
        string stem = Path.Combine(Path.GetDirectoryName(path)!, Path.GetFileNameWithoutExtension(path));
        try
        {
            for (int n = 1; ; n++)
            {
                string aside = string.Create(CultureInfo.InvariantCulture, $"{stem}-put-aside-{n}.json");
                if (!File.Exists(aside))
                {
                    File.Move(path, aside);
                    return;
                }
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException("Your settings can't be kept", path, "Check the rights of the quilts' folder.", e);
        }
    }

    private static JsonObject Fields(string path)
    {
        try
        {
            JsonObject? fields =
                new FileInfo(path).Length <= MostBytes ? JsonNode.Parse(File.ReadAllBytes(path)) as JsonObject : null;
            if (
                fields?["format"] is JsonValue f
                && f.TryGetValue(out string? format)
                && format == Format
                && fields["version"] is JsonValue v
                && v.TryGetValue(out int version)
                && version >= 1
            )
            {
                return version <= Version
                    ? fields
                    : throw new InputException(
                        "A later version of the program wrote your settings",
                        path,
                        "They are kept as they are; until you set yours here, the usual ones hold."
                    );
            }
        }
        catch (Exception e)
            when (e is JsonException or InvalidOperationException or ArgumentException or FormatException)
        {
            throw Unreadable(path, e);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                "Your settings can't be read",
                path,
                "Check the rights of the quilts' folder; until then the usual ones hold.",
                e
            );
        }

        throw Unreadable(path, null);
    }

    private static InputException Unreadable(string path, Exception? cause)
    {
        const string What = "Your settings can't be read";
        const string Remedy = "They are kept as they are; until you set yours here, the usual ones hold.";
        return cause is null ? new(What, path, Remedy) : new(What, path, Remedy, cause);
    }

    private static RoomSettings Parse(JsonObject fields, string root)
    {
        string path = Path.Combine(root, FileName);
        try
        {
            RoomSettings settings = new()
            {
                Units = Word(fields, "units") switch
                {
                    "inches" or null => LengthUnits.Inches,
                    "millimeters" => LengthUnits.Millimeters,
                    _ => throw Unreadable(path, null),
                },
                Foot = Inches(fields, "footInches"),
                Throat = Inches(fields, "throatInches"),
                Rulers = Word(fields, "rulers") switch
                {
                    "usual" or null => null,
                    "none" => "none",
                    "own" => Path.Combine(root, RulersFile),
                    _ => throw Unreadable(path, null),
                },
                Asked = fields["asked"]?.GetValue<bool>() ?? false,
                Walking = fields["walking"]?.GetValue<bool>() ?? false,
            };
            settings.Require();
            return settings;
        }
        catch (Exception e) when (e is InvalidOperationException or FormatException)
        {
            throw Unreadable(path, e);
        }
    }

    private static string? Word(JsonObject fields, string name) => fields[name]?.GetValue<string>();

    private static Length? Inches(JsonObject fields, string name) =>
        fields[name] is { } node ? Length.FromInches(node.GetValue<double>()) : null;
}
