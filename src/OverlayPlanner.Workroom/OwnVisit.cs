namespace OverlayPlanner.Workroom;

/// <summary>
/// Visits the workroom's first screen from within the program, while the user's browser is still opening: code is compiled when it
/// is first run, and the one who would wait for that is the user.
/// </summary>
internal static class OwnVisit
{
    // What every screen asks for: the page, its look, its script, and the live line's beginning.
    private static readonly string[] Places =
    [
        "",
        "_content/OverlayPlanner.Workroom/workroom.css",
        "_framework/blazor.web.js",
    ];

    /// <summary>Asks for what the first screen needs. What can't be had is left: the user's own visit says why.</summary>
    public static async Task MakeAsync(Uri address, CancellationToken cancellation)
    {
        try
        {
            using HttpClient client = new() { BaseAddress = address, Timeout = TimeSpan.FromSeconds(20) };
            await Task.WhenAll(
                Places.Select(p => client.GetByteArrayAsync(new Uri(p, UriKind.Relative), cancellation))
            );
            using HttpResponseMessage line = await client.PostAsync(
                new Uri("_blazor/negotiate?negotiateVersion=1", UriKind.Relative),
                null,
                cancellation
            );
        }
        catch (Exception e) when (e is HttpRequestException or OperationCanceledException)
        {
            // Nothing depends on it.
        }
    }
}
