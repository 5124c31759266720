using System.Net;
using System.Reflection;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using MudBlazor.Services;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workroom.Components;

namespace OverlayPlanner.Workroom;

/// <summary>The workroom: a web application for one person, on this machine alone.</summary>
/// <remarks>It listens on the loopback address only, and answers only requests that name it by a loopback name.</remarks>
public static class WorkroomServer
{
    /// <summary>Serves until cancelled.</summary>
    /// <param name="options">Port and folder.</param>
    /// <param name="started">Told the address to open once the first page can be served.</param>
    /// <exception cref="InputException">The port is taken, or the folder can't be used.</exception>
    public static async Task RunAsync(WorkroomOptions options, Action<Uri> started, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(started);
        QuiltStore store = new(options.Quilts);
        WebApplicationBuilder builder = WebApplication.CreateBuilder(
            new WebApplicationOptions
            {
                // The static files' manifest lies beside the program that was started, not in the folder it was started from.
                ContentRootPath = AppContext.BaseDirectory,
                ApplicationName = Assembly.GetEntryAssembly()?.GetName().Name,
            }
        );
        builder.Logging.ClearProviders();
        builder.WebHost.UseStaticWebAssets();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.Listen(IPAddress.Loopback, options.Port);
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = PhotoUpload.MostBytes + 65_536;
        });
        builder.Services.AddSingleton(store);
        builder.Services.AddSingleton<HeavyWork>();
        builder.Services.AddSingleton<RoomTable>();
        builder.Services.AddSingleton(TimeProvider.System).AddSingleton<Phone.PhoneDoor>();
        builder.Services.AddSingleton<PreviewTable>();
        builder.Services.AddMudServices();
        builder.Services.AddRazorComponents().AddInteractiveServerComponents();
        await using WebApplication application = builder.Build();
        application.UseMiddleware<LocalRequestsOnly>();
        application.UseAntiforgery();
        application.MapStaticAssets();
        QuiltFiles.Map(application);
        ClothTileFiles.Map(application);
        SheetPreviews.Map(application);
        PhotoUpload.Map(application);
        QuiltParcels.Map(application);
        application.MapRazorComponents<App>().AddInteractiveServerRenderMode();
        try
        {
            await application.StartAsync(cancellation);
        }
        catch (IOException e)
        {
            throw new InputException(
                "The workroom can't listen there",
                string.Create(System.Globalization.CultureInfo.InvariantCulture, $"port {options.Port}"),
                "Close the other program that uses this port, or give another with --port.",
                e
            );
        }

        string address = application
            .Services.GetRequiredService<IServer>()
            .Features.Get<IServerAddressesFeature>()!
            .Addresses.First();
        started(new Uri(address));
        await application.WaitForShutdownAsync(cancellation);
    }
}
