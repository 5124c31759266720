using System.Security.Cryptography;
using System.Text;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Http;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>The phone's page: plain HTML without script, for any phone, by day and by night.</summary>
internal static class PhonePage
{
    private const string Style = """
        :root { color-scheme: light dark; --ground: #f7f2e8; --sheet: #fffdf8; --ink: #23263a; --line: #8b8678; --chalk: #0068a3; --on: #fff; --madder: #a83a06; }
        @media (prefers-color-scheme: dark) {
            :root { --ground: #1d1f2b; --sheet: #272a39; --ink: #ede6d6; --line: #8f8a80; --chalk: #7cc4f2; --on: #14202b; --madder: #f0a37c; }
        }
        * { box-sizing: border-box; }
        body { margin: 0; padding: 1.25rem; background: var(--ground); color: var(--ink); font: 1.25rem/1.5 system-ui, sans-serif; }
        main { max-width: 34rem; margin: 0 auto; }
        h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 1rem; }
        p { margin: 0 0 1rem; }
        label { display: block; font-weight: 700; margin: 0 0 0.4rem; }
        input { display: block; width: 100%; min-height: 5rem; padding: 1.4rem 0.9rem; font: inherit; color: inherit; background: var(--sheet); border: 2px dashed var(--line); border-radius: 8px; margin: 0 0 1.25rem; }
        input::file-selector-button { font: inherit; font-weight: 700; padding: 0.5rem 0.9rem; margin: 0 0.8rem 0 0; }
        button { width: 100%; min-height: 3.5rem; font: inherit; font-weight: 700; color: var(--on); background: var(--chalk); border: 0; border-radius: 8px; margin: 0 0 1.25rem; }
        details { margin: 0 0 1.25rem; } summary { min-height: 2.75rem; padding: 0.4rem 0; }
        :focus-visible { outline: 3px solid var(--madder); outline-offset: 2px; }
        .refusal { border-left: 6px solid var(--madder); background: var(--sheet); padding: 0.8rem 1rem; }
        """;

    // The only thing that the page may use is this one style sheet, known by its hash, and its own form.
    private static readonly string Policy =
        $"default-src 'none'; style-src 'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(Style)))}'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

    public static Task AskAsync(HttpContext context, string? refusal, int status) =>
        WriteAsync(
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
        WriteAsync(
            context,
            StatusCodes.Status200OK,
            "It is on the big screen now.",
            """
            <p>You can close this page. For another photo, press Send from a phone on the big screen again.</p>
            """
        );

    private static Task WriteAsync(HttpContext context, int status, string title, string body)
    {
        HttpResponse response = context.Response;
        response.StatusCode = status;
        response.ContentType = "text/html; charset=utf-8";
        response.Headers.ContentSecurityPolicy = Policy;
        return response.WriteAsync(
            $"""
            <!DOCTYPE html>
            <html lang="en">
            <head>
            <meta charset="utf-8">
            <meta name="viewport" content="width=device-width, initial-scale=1">
            <title>{title}</title>
            <link rel="icon" href="data:,">
            <style>{Style}</style>
            </head>
            <body><main><h1>{title}</h1>
            {body}
            </main></body>
            </html>
            """,
            context.RequestAborted
        );
    }
}
