using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Http;

namespace OverlayPlanner.Workroom.Network;

/// <summary>What a device on the network sees before it is let in.</summary>
internal static class EntryPage
{
    /// <summary>Asks for the code.</summary>
    /// <param name="typed">What stands in the field already.</param>
    /// <param name="last">How the last try ended, or null before the first.</param>
    public static Task WriteAsync(HttpContext context, string typed, Entry? last)
    {
        context.Response.Headers.CacheControl = "no-store";
        string? refusal = last switch
        {
            Entry.WrongCode =>
                "That is not the code. Look at the other screen and try again; each wrong try takes longer.",
            Entry.NoCode => "No code is shown now. Show a new one on the other screen, under Your machine and rulers.",
            _ => null,
        };
        return PlainPage.WriteAsync(
            context,
            StatusCodes.Status403Forbidden,
            "Come into the workroom",
            $"""
            {(refusal is null ? "" : $"<p class=\"refusal\" role=\"alert\">{HtmlEncoder.Default.Encode(refusal)}</p>")}
            <p>The machine that the quilts are kept on shows a code. It lets in one device.</p>
            <form method="post" action="{NetworkGate.EntryPath}">
            <label for="code">The code</label>
            <input id="code" name="code" value="{HtmlEncoder.Default.Encode(
                typed
            )}" maxlength="60" autocomplete="off" autocapitalize="none" spellcheck="false" required>
            <button type="submit">Come in</button>
            </form>
            """
        );
    }
}
