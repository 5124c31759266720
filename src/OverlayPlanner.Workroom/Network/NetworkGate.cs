using System.Net;
using System.Security.Claims;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;

namespace OverlayPlanner.Workroom.Network;

/// <summary>
/// Stands before everything that the workroom serves: who comes over the network and is not let in yet gets a page that asks for
/// the code, whatever was asked for, and nothing else. Who comes from this machine passes.
/// </summary>
internal sealed class NetworkGate(RequestDelegate next, NetworkDoor door)
{
    /// <summary>Where the code is given.</summary>
    public const string EntryPath = "/enter";

    /// <summary>The cookie by which a device is known; its prefix ties it to this host and to HTTPS (RFC 6265bis, 4.1.3.2).</summary>
    public const string Cookie = "__Host-workroom";

    /// <summary>Marks a user, and with it a live screen, as one at this machine itself.</summary>
    public const string AtTheMachine = "at the machine";

    private const int MostFormBytes = 4_096;

    /// <summary>Whether a request came by another way than this machine's own loopback.</summary>
    public static bool IsFromNetwork(HttpContext context) =>
        context.Connection.LocalIpAddress is not { } local || !IPAddress.IsLoopback(local);

    public async Task InvokeAsync(HttpContext context)
    {
        bool network = IsFromNetwork(context);
        if (!network)
        {
            context.User = new ClaimsPrincipal(new ClaimsIdentity([], AtTheMachine));
            await next(context);
            return;
        }

        if (context.Request.Path == EntryPath && HttpMethods.IsPost(context.Request.Method))
        {
            await EnterAsync(context);
            return;
        }

        if (!door.Knows(context.Request.Cookies[Cookie], out CancellationToken ended))
        {
            await AskAsync(context);
            return;
        }

        if (context.Request.Path == EntryPath)
        {
            context.Response.Redirect("/");
            return;
        }

        // A device that is sent away loses its live screen and what it was being sent, not only its next request.
        await using CancellationTokenRegistration leaving = ended.Register(context.Abort);
        await next(context);
    }

    private static async Task AskAsync(HttpContext context)
    {
        HttpRequest request = context.Request;
        bool page =
            HttpMethods.IsGet(request.Method) && !request.Path.StartsWithSegments("/_blazor", StringComparison.Ordinal);
        if (!page)
        {
            // A body that nobody asked for is not read.
            context.Response.StatusCode = StatusCodes.Status403Forbidden;
            context.Response.Headers.Connection = "close";
            return;
        }

        // What came with the address is put into the field, and tried only when someone presses the button: a preview of the address
        // in a messenger must not use the code up.
        string typed = request.Path == EntryPath ? request.Query["code"].ToString() : "";
        await EntryPage.WriteAsync(context, typed, null);
    }

    private async Task EnterAsync(HttpContext context)
    {
        if (context.Features.Get<IHttpMaxRequestBodySizeFeature>() is { IsReadOnly: false } limit)
        {
            limit.MaxRequestBodySize = MostFormBytes;
        }

        (Entry how, string? key) = await door.EnterAsync(await CodeOf(context), context.RequestAborted);
        if (how != Entry.In)
        {
            await EntryPage.WriteAsync(context, "", how);
            return;
        }

        context.Response.Cookies.Append(
            Cookie,
            key!,
            new CookieOptions
            {
                HttpOnly = true,
                Secure = true,
                SameSite = SameSiteMode.Strict,
                Path = "/",
                IsEssential = true,
            }
        );
        context.Response.Headers.CacheControl = "no-store";
        context.Response.StatusCode = StatusCodes.Status303SeeOther;
        context.Response.Headers.Location = "/";
    }

    private static async Task<string> CodeOf(HttpContext context)
    {
        try
        {
            IFormCollection form = await context.Request.ReadFormAsync(context.RequestAborted);
            return form["code"].ToString();
        }
        catch (Exception e) when (e is InvalidOperationException or InvalidDataException)
        {
            // No form at all.
            return "";
        }
    }
}
