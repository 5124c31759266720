using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Routing;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom;

/// <summary>A quilt out of the workroom as one file, and in again.</summary>
internal static class QuiltParcels
{
    // A zip of at most the 500 MB that a quilt may unpack to; photographs hardly shrink.
    private const long MostBytes = 520_000_000;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet(
            "/export/{id}",
            (string id, QuiltStore store) =>
            {
                // Packed whole into a file that vanishes when it is closed: a half-sent parcel must not look like a whole one.
                FileStream parcel = new(
                    Path.GetTempFileName(),
                    FileMode.Open,
                    FileAccess.ReadWrite,
                    FileShare.None,
                    81_920,
                    FileOptions.DeleteOnClose
                );
                try
                {
                    store.Export(id, parcel);
                    parcel.Position = 0;
                    return Results.Stream(parcel, "application/zip", id + ".zip");
                }
                catch (InputException)
                {
                    parcel.Dispose();
                    return Results.NotFound();
                }
            }
        );
        routes
            .MapPost(
                "/import",
                (HttpContext context, QuiltStore store, HeavyWork work) => ImportAsync(context, store, work)
            )
            .DisableAntiforgery();
    }

    // The request's own Origin was checked before (LocalRequestsOnly), which stands for an antiforgery token here.
    private static async Task<IResult> ImportAsync(HttpContext context, QuiltStore store, HeavyWork work)
    {
        try
        {
            IHttpMaxRequestBodySizeFeature? limit = context.Features.Get<IHttpMaxRequestBodySizeFeature>();
            if (limit is { IsReadOnly: false })
            {
                limit.MaxRequestBodySize = MostBytes;
            }

            IFormCollection form = await context.Request.ReadFormAsync(
                new FormOptions { MultipartBodyLengthLimit = MostBytes },
                context.RequestAborted
            );
            IFormFile file =
                form.Files.GetFile("zip")
                ?? throw new InputException("No file came", "the form", "Choose the quilt's file first.");
            await work.RunAsync(
                () =>
                {
                    using Stream stream = file.OpenReadStream();
                    return store.Import(stream);
                },
                context.RequestAborted
            );
            return Results.Redirect("/");
        }
        catch (InputException e)
        {
            return Results.Redirect($"/?refused={Uri.EscapeDataString($"{e.What}. {e.Remedy}")}");
        }
        catch (Exception e) when (e is BadHttpRequestException or InvalidDataException)
        {
            return Results.Redirect(
                "/?refused="
                    + Uri.EscapeDataString("The file is too large for a quilt. Give a file that was saved here.")
            );
        }
    }
}
