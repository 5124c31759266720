using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// Files of a quilt that a later version of the program wrote. This one can't know what they hold, so it neither reads nor replaces
/// them.
/// </summary>
public static class LaterFiles
{
    // Every file of a quilt is in its first version; one that says none is from before versions were written.
    private const int Newest = 1;

    // Format and version stand first; whatever is longer before its version was not written by this program.
    private const int HeadBytes = 65_536;

    private static readonly Dictionary<string, string> Parts = new(StringComparer.Ordinal)
    {
        [QuiltStore.MapFile] = "its map",
        [QuiltStore.RouteFile] = "its choices",
        [QuiltStore.SettingsFile] = "its settings",
        [QuiltSteps.PlaceFile] = "the four pins on its photo",
    };

    /// <summary>Names of such files in a quilt's folder.</summary>
    public static IReadOnlyList<string> In(string folder)
    {
        ArgumentNullException.ThrowIfNull(folder);
        return
        [
            .. Directory
                .EnumerateFiles(folder, "*.json")
                .Select(f => Path.GetFileName(f))
                .Where(f => f[0] != '.' && IsLater(Path.Combine(folder, f)))
                .Order(StringComparer.Ordinal),
        ];
    }

    /// <summary>What a file holds, in words.</summary>
    public static string PartOf(string file) => Parts.GetValueOrDefault(file ?? "", "a part of it");

    /// <summary>Refuses to replace or take away such a file.</summary>
    /// <exception cref="InputException">One of them is there.</exception>
    internal static void Require(string folder, string name, IEnumerable<string> files)
    {
        foreach (string file in files.Where(f => f.EndsWith(".json", StringComparison.Ordinal)))
        {
            string path = Path.Combine(folder, file);
            if (File.Exists(path) && IsLater(path))
            {
                throw new InputException(
                    $"A later version of the program wrote {PartOf(file)}, and this one does not change it",
                    name,
                    "Use the later version for this quilt, or bring its photo again as a new quilt."
                );
            }
        }
    }

    private static bool IsLater(string path)
    {
        try
        {
            using FileStream file = File.OpenRead(path);
            byte[] head = new byte[Math.Min(HeadBytes, file.Length)];
            file.ReadExactly(head);
            return VersionIn(head) > Newest;
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            // What can't be read at all says so where it is used.
            return false;
        }
    }

    private static double VersionIn(ReadOnlySpan<byte> head)
    {
        // The head may end anywhere: what is asked for stands before that, or is not there.
        Utf8JsonReader json = new(head.StartsWith("\uFEFF"u8) ? head[3..] : head, isFinalBlock: false, state: default);
        while (json.Read())
        {
            if (
                json.CurrentDepth == 1
                && json.TokenType == JsonTokenType.PropertyName
                && json.ValueTextEquals("version"u8)
            )
            {
                return json.Read() && json.TokenType == JsonTokenType.Number && json.TryGetDouble(out double version)
                    ? version
                    : 0;
            }
        }

        return 0;
    }
}
