using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Http;

namespace OverlayPlanner.Workroom;

/// <summary>A page of plain HTML without script, for any device, by day and by night; larger than the workroom's own screens.</summary>
internal static class PlainPage
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
        input:not([type="file"]) { min-height: 3.5rem; padding: 0.6rem 0.9rem; border-style: solid; font-family: ui-monospace, monospace; }
        .refusal { border-left: 6px solid var(--madder); background: var(--sheet); padding: 0.8rem 1rem; }
        """;

    // The only thing that the page may use is this one style sheet, known by its hash, and its own form.
    private static readonly string Policy =
        $"default-src 'none'; style-src 'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(Style)))}'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

    /// <summary>Answers with a page.</summary>
    /// <param name="title">Its heading, as HTML.</param>
    /// <param name="body">What stands under it, as HTML.</param>
    public static Task WriteAsync(HttpContext context, int status, string title, string body)
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
