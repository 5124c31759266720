using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Routing;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom;

/// <summary>
/// The plain upload form's other end. A form, and no live circuit: a photograph of many megabytes arrives whole or not at all,
/// and works from any browser.
/// </summary>
internal static class PhotoUpload
{
    /// <summary>Largest file that is taken, bytes.</summary>
    public const long MostBytes = 120_000_000;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes
            .MapPost("/bring", (HttpContext context, QuiltStore store, HeavyWork work) => BringAsync(context, store, work, null))
            .DisableAntiforgery();
        routes
            .MapPost(
                "/bring/{id}",
                (string id, HttpContext context, QuiltStore store, HeavyWork work) => BringAsync(context, store, work, id)
            )
            .DisableAntiforgery();
    }

    // The request's own Origin was checked before (LocalRequestsOnly), which stands for an antiforgery token here.
    private static async Task<IResult> BringAsync(HttpContext context, QuiltStore store, HeavyWork work, string? id)
    {
        string back = id is null ? "/" : $"/quilt/{Uri.EscapeDataString(id)}/photo";
        try
        {
            if (context.Request.ContentLength > MostBytes)
            {
                throw TooLarge();
            }

            IFormCollection form = await context.Request.ReadFormAsync(
                new FormOptions { MultipartBodyLengthLimit = MostBytes },
                context.RequestAborted
            );
            IFormFile? file = form.Files.GetFile("photo");
            if (file is null || file.Length == 0)
            {
                throw new InputException("No photo came", "the form", "Choose a photo's file first.");
            }

            byte[] bytes = new byte[file.Length];
            await using (Stream stream = file.OpenReadStream())
            {
                await stream.ReadExactlyAsync(bytes, context.RequestAborted);
            }

            string name = Path.GetFileName(file.FileName);
            KeptQuilt quilt = await work.RunAsync(
                () =>
                {
                    // A photo that can't be read must leave no empty quilt behind, so it is read before one is made.
                    if (id is not null)
                    {
                        return QuiltSteps.BringPhoto(store, store.Open(id), bytes, name, context.RequestAborted).Quilt;
                    }

                    return QuiltSteps.BringNew(store, bytes, name, context.RequestAborted);
                },
                context.RequestAborted
            );
            return Results.Redirect($"/quilt/{quilt.Id}/photo");
        }
        catch (InputException e)
        {
            return Results.Redirect($"{back}?refused={Uri.EscapeDataString($"{e.What}. {e.Remedy}")}");
        }
        catch (Exception e) when (e is BadHttpRequestException or InvalidDataException)
        {
            InputException large = TooLarge();
            return Results.Redirect($"{back}?refused={Uri.EscapeDataString($"{large.What}. {large.Remedy}")}");
        }
    }

    private static InputException TooLarge() =>
        new(
            "The file is too large to be a photo",
            "the form",
            "Send a photo of at most 120 MB; no video. Most phones' photos are under 15 MB."
        );
}
