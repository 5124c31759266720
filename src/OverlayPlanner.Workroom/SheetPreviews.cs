using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Printing;

namespace OverlayPlanner.Workroom;

/// <summary>Pages as they will print, one picture each, for the previews that a screen has open.</summary>
internal static class SheetPreviews
{
    public static void Map(IEndpointRouteBuilder routes) =>
        routes.MapGet(
            "/preview/{key}/{number:int}",
            async (
                string key,
                int number,
                int? width,
                PreviewTable table,
                HeavyWork work,
                CancellationToken cancellation
            ) =>
            {
                if (table.Find(key) is not { } preview)
                {
                    return Results.NotFound();
                }

                try
                {
                    byte[] png = await work.RunAsync(
                        () => preview.Picture(number, Math.Clamp(width ?? 460, 64, 2_400)),
                        cancellation
                    );
                    return Results.Bytes(png, "image/png");
                }
                catch (InputException)
                {
                    return Results.NotFound();
                }
            }
        );
}

/// <summary>The last previews that were planned, so that each picture need not plan them again.</summary>
internal sealed class PreviewTable
{
    // Two screens with a change of mind each; an old one is planned again when it is asked for.
    private const int Most = 6;
    private readonly Lock turn = new();
    private readonly List<(string Key, SheetPreview Preview)> open = [];

    /// <returns>The key that its pictures are asked for by.</returns>
    public string Put(SheetPreview preview)
    {
        string key = Guid.NewGuid().ToString("N");
        lock (turn)
        {
            open.Add((key, preview));
            if (open.Count > Most)
            {
                open.RemoveAt(0);
            }
        }

        return key;
    }

    public SheetPreview? Find(string key)
    {
        lock (turn)
        {
            return open.FirstOrDefault(p => p.Key == key).Preview;
        }
    }
}
