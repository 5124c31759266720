using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>A quilt on the shelf, whether it can be opened or not.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Name">What the user calls it; its id where even that can't be read.</param>
/// <param name="Quilt">The quilt; null where it can't be opened.</param>
/// <param name="Trouble">What is wrong with it and what to do, in the words of the screen; null where nothing is.</param>
public sealed record ShelfEntry(string Id, string Name, KeptQuilt? Quilt, string? Trouble)
{
    /// <summary>Everything in a store: what can be opened first, last changed first, then what can't, by id.</summary>
    /// <exception cref="InputException">The folder can't be listed.</exception>
    public static IReadOnlyList<ShelfEntry> Of(QuiltStore store)
    {
        ArgumentNullException.ThrowIfNull(store);
        return
        [
            .. store.List().Select(q => new ShelfEntry(q.Id, q.Name, q, TroubleOf(q))),
            .. store.Unreadable().Select(id => new ShelfEntry(id, NameOf(store, id), null, WhyNot(store, id))),
        ];
    }

    private static string? TroubleOf(KeptQuilt quilt)
    {
        try
        {
            IReadOnlyList<string> later = LaterFiles.In(quilt.Folder);
            string[] parts = [.. later.Select(LaterFiles.PartOf).Distinct(StringComparer.Ordinal)];
            return parts.Length == 0
                ? null
                : $"A later version of the program wrote {string.Join(" and ", parts)}. Use that version for this quilt; here it stays as it is.";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return "Its folder can't be read. Mend the folder's rights.";
        }
    }

    private static string? WhyNot(QuiltStore store, string id)
    {
        try
        {
            store.Open(id);
            return null;
        }
        catch (InputException e)
        {
            return ScreenWords.Of(e);
        }
    }

    // A later version's settings may still say the name where this one says it.
    private static string NameOf(QuiltStore store, string id)
    {
        try
        {
            using JsonDocument settings = JsonDocument.Parse(
                File.ReadAllBytes(Path.Combine(store.Root, id, QuiltStore.SettingsFile))
            );
            return
                settings.RootElement.ValueKind == JsonValueKind.Object
                && settings.RootElement.TryGetProperty("name", out JsonElement name)
                && name.ValueKind == JsonValueKind.String
                && name.GetString() is { Length: > 0 } said
                ? said[..Math.Min(said.Length, 80)]
                : id;
        }
        catch (Exception e)
            when (e is JsonException or InvalidOperationException or IOException or UnauthorizedAccessException)
        {
            return id;
        }
    }
}
