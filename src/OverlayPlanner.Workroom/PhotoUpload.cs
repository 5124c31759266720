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

    /// <summary>What is said of a file that is larger.</summary>
    public const string TooLargeSaid = TooLargeWhat + ". " + TooLargeRemedy;

    private const string TooLargeWhat = "The file is too large to be a photo";
    private const string TooLargeRemedy =
        "Send a photo of at most 120 MB; no video. Most phones' photos are under 15 MB.";
    private const long MostPassedOver = 2_000_000_000;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes
            .MapPost(
                "/bring",
                (HttpContext context, QuiltStore store, HeavyWork work) => BringAsync(context, store, work, null)
            )
            .DisableAntiforgery();
        routes
            .MapPost(
                "/bring/{id}",
                (string id, HttpContext context, QuiltStore store, HeavyWork work) =>
                    BringAsync(context, store, work, id)
            )
            .DisableAntiforgery();
    }

    // The request's own Origin was checked before (LocalRequestsOnly), which stands for an antiforgery token here.
    private static async Task<IResult> BringAsync(HttpContext context, QuiltStore store, HeavyWork work, string? id)
    {
        string back = id is null ? "/" : $"/quilt/{Uri.EscapeDataString(id)}/photo";
        try
        {
            KeptQuilt quilt = await ReceiveAsync(
                context,
                store,
                work,
                id,
                null,
                context.RequestAborted,
                context.RequestAborted
            );
            return Results.Redirect($"/quilt/{quilt.Id}/photo");
        }
        catch (InputException e)
        {
            return Results.Redirect($"{back}?refused={Uri.EscapeDataString($"{e.What}. {e.Remedy}")}");
        }
    }

    /// <summary>Takes the form's photo in and keeps it.</summary>
    /// <param name="id">Quilt that is to have it; null for a new one.</param>
    /// <param name="newName">What a new quilt is called; null for the file's own name.</param>
    /// <param name="cancellation">Ends waiting for its turn; a photo that came whole and is being kept is kept.</param>
    /// <param name="reading">Ends also the reading of a photo that came whole, before it is kept.</param>
    /// <exception cref="InputException">None came, or it is too large, or no photo that can be read.</exception>
    public static async Task<KeptQuilt> ReceiveAsync(
        HttpContext context,
        QuiltStore store,
        HeavyWork work,
        string? id,
        string? newName,
        CancellationToken cancellation,
        CancellationToken reading = default
    )
    {
        IFormFile file = await ReadAsync(context);
        string name = Path.GetFileName(file.FileName);
        string called = newName is null ? name : newName + Path.GetExtension(name);
        return await work.RunAsync(
            () =>
            {
                // In its turn, not before: ten photos that come at once wait on the disk, not in memory.
                byte[] bytes = new byte[file.Length];
                using (Stream stream = file.OpenReadStream())
                {
                    stream.ReadExactly(bytes);
                }

                // A photo that can't be read must leave no empty quilt behind, so it is read before one is made.
                return id is null
                    ? QuiltSteps.BringNew(store, bytes, called, reading)
                    : QuiltSteps.BringPhoto(store, store.Open(id), bytes, called, reading).Quilt;
            },
            cancellation
        );
    }

    private static async Task<IFormFile> ReadAsync(HttpContext context)
    {
        try
        {
            // A little more than the photo itself: the form's own lines.
            if (context.Request.ContentLength > MostBytes + 65_536)
            {
                await PassOverAsync(context);
                throw TooLarge();
            }

            IFormCollection form = await context.Request.ReadFormAsync(
                new FormOptions { MultipartBodyLengthLimit = MostBytes },
                context.RequestAborted
            );

            // A field that was left empty comes as a file without bytes.
            return form.Files.FirstOrDefault(f => f.Name == "photo" && f.Length > 0)
                ?? throw new InputException("No photo came", "the form", "Choose a photo's file first.");
        }
        catch (InvalidDataException)
        {
            throw TooLarge();
        }
        catch (BadHttpRequestException e)
        {
            throw e.StatusCode == StatusCodes.Status413PayloadTooLarge
                ? TooLarge()
                : new InputException("The photo did not come whole", "the form", "Send it again.", e);
        }
        catch (InvalidOperationException e)
        {
            // What was sent is no form at all.
            throw new InputException("No photo came", "the form", "Choose a photo's file first.", e);
        }
    }

    // A browser that is still sending does not listen: what is too large is read to its end and forgotten, as far as a film on this
    // machine is long. No byte of it is kept.
    private static async Task PassOverAsync(HttpContext context)
    {
        IHttpMaxRequestBodySizeFeature? limit = context.Features.Get<IHttpMaxRequestBodySizeFeature>();
        if (limit is not { IsReadOnly: false } || context.Request.ContentLength > MostPassedOver)
        {
            return;
        }

        limit.MaxRequestBodySize = MostPassedOver;
        byte[] some = new byte[81_920];
        while (await context.Request.Body.ReadAsync(some, context.RequestAborted) > 0)
        {
            // Gone.
        }
    }

    private static InputException TooLarge() => new(TooLargeWhat, "the form", TooLargeRemedy);
}
