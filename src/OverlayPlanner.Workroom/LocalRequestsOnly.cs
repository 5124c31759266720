using Microsoft.AspNetCore.Http;
using OverlayPlanner.Workroom.Network;

namespace OverlayPlanner.Workroom;

/// <summary>
/// Turns away whatever does not come from a page of the workroom itself: a request that names another host (a foreign name bound
/// to this address), and a change or a live circuit asked for by another site's page. Who comes over the network names one of the
/// machine's own names there; who comes from this machine a loopback name.
/// </summary>
internal sealed class LocalRequestsOnly(RequestDelegate next, NetworkDoor door)
{
    private static readonly string[] OwnNames = ["localhost", "127.0.0.1", "[::1]"];

    public async Task InvokeAsync(HttpContext context)
    {
        HttpRequest request = context.Request;
        bool own = NetworkGate.IsFromNetwork(context)
            ? request.IsHttps && door.IsOwnName(request.Host.Host)
            : OwnNames.Contains(request.Host.Host, StringComparer.OrdinalIgnoreCase);
        bool changes = !(HttpMethods.IsGet(request.Method) || HttpMethods.IsHead(request.Method));
        bool live = request.Path.StartsWithSegments("/_blazor", StringComparison.Ordinal);
        string? origin = request.Headers.Origin.Count > 0 ? request.Headers.Origin.ToString() : null;
        bool foreign = origin is not null
            ? !string.Equals(origin, $"{request.Scheme}://{request.Host.Value}", StringComparison.OrdinalIgnoreCase)
            : changes && !live;
        if (!own || ((changes || live) && foreign))
        {
            context.Response.StatusCode = StatusCodes.Status403Forbidden;
            context.Response.Headers.Connection = "close";
            await context.Response.WriteAsync("The workroom answers only its own pages.");
            return;
        }

        context.Response.Headers.ContentSecurityPolicy =
            "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; script-src 'self'; connect-src 'self' ws: wss:; frame-ancestors 'none'; base-uri 'self'; form-action 'self'";
        context.Response.Headers.XContentTypeOptions = "nosniff";
        context.Response.Headers["Referrer-Policy"] = "same-origin";
        await next(context);
    }
}
