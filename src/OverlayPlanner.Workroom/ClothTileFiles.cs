using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom;

/// <summary>Tiles of the picture of a quilt's cloth: by the quilt's id and three numbers, never by a path from the address.</summary>
internal static class ClothTileFiles
{
    public static void Map(IEndpointRouteBuilder routes) =>
        routes.MapGet(
            "/tiles/{id}/{level:int}/{column:int}/{row:int}",
            async (
                string id,
                int level,
                int column,
                int row,
                string? at,
                HttpContext context,
                QuiltStore store,
                HeavyWork work,
                CancellationToken cancellation
            ) =>
            {
                try
                {
                    KeptQuilt quilt = store.Open(id);

                    // The first to ask waits until all are cut, and the cutting goes on where the page is left meanwhile.
                    string? path = ClothTiles.AreCut(quilt)
                        ? ClothTiles.PathOf(quilt, level, column, row, cancellation)
                        : await work.RunAsync(
                            () => ClothTiles.PathOf(quilt, level, column, row, CancellationToken.None),
                            cancellation
                        );
                    if (path is null)
                    {
                        return Results.NotFound();
                    }

                    // A stamped address always means the same bytes.
                    context.Response.Headers.CacheControl = at is null
                        ? "no-cache"
                        : "private, max-age=604800, immutable";
                    return Results.File(path, "image/jpeg");
                }
                catch (InputException)
                {
                    return Results.NotFound();
                }
            }
        );
}
