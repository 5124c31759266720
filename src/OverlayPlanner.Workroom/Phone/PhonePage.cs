using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Http;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>The phone's page: plain HTML without script, for any phone, by day and by night.</summary>
internal static class PhonePage
{
    public static Task AskAsync(HttpContext context, string? refusal, int status) =>
        PlainPage.WriteAsync(
            context,
            status,
            "Take a photo of the quilt",
            $"""
            {(refusal is null ? "" : $"<p class=\"refusal\" role=\"alert\">{HtmlEncoder.Default.Encode(refusal)}</p>")}
            <p>From as straight above as you can, in even light, the whole block or band in it. Stop the needle first.</p>
            <form method="post" enctype="multipart/form-data">
            <label for="photo">Take it with the camera</label>
            <input id="photo" name="photo" type="file" accept="image/*" capture="environment">
            <details><summary>Or a photo that is on the phone already</summary>
            <label for="earlier">The photo</label>
            <input id="earlier" name="photo" type="file" accept="image/*">
            </details>
            <button type="submit">Send the photo</button>
            </form>
            <p>Sending may take a minute. Keep this page open until it says that the photo is there.</p>
            """
        );

    public static Task ThankAsync(HttpContext context) =>
        PlainPage.WriteAsync(
            context,
            StatusCodes.Status200OK,
            "It is on the big screen now.",
            """
            <p>You can close this page. For another photo, press Send from a phone on the big screen again.</p>
            """
        );
}
