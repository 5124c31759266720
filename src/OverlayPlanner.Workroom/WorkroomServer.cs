using System.Net;
using System.Net.Sockets;
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
using OverlayPlanner.Workroom.Log;
using OverlayPlanner.Workroom.Network;

namespace OverlayPlanner.Workroom;

/// <summary>The workroom: a web application for one person, on this machine, and on her own networks where she says so.</summary>
/// <remarks>
/// It listens on the loopback address only, and answers only requests that name it by a loopback name. With
/// <see cref="WorkroomReach.OwnNetworks"/> also on the machine's network addresses, over HTTPS, for devices that gave the code.
/// </remarks>
public static class WorkroomServer
{
    /// <summary>Serves until cancelled.</summary>
    /// <param name="options">Port, folder and reach.</param>
    /// <param name="started">Told the addresses to open once the first page can be served.</param>
    /// <exception cref="InputException">The port is taken, the folder can't be used, or there is no network to be reached on.</exception>
    public static async Task RunAsync(
        WorkroomOptions options,
        Action<WorkroomPlace> started,
        CancellationToken cancellation
    )
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(started);
        QuiltStore store = new(options.Quilts);
        using RoomLog log = new(store.Root, TimeProvider.System);
        using NetworkListening? network =
            options.Reach == WorkroomReach.OwnNetworks
                ? NetworkListening.Prepare(store.Root, TimeProvider.System)
                : null;
        WebApplicationBuilder builder = WebApplication.CreateBuilder(
            new WebApplicationOptions
            {
                // The static files' manifest lies beside the program that was started, not in the folder it was started from.
                ContentRootPath = AppContext.BaseDirectory,
                ApplicationName = Assembly.GetEntryAssembly()?.GetName().Name,
            }
        );
        builder.Logging.ClearProviders().AddProvider(log);
        builder.WebHost.UseStaticWebAssets();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.Listen(IPAddress.Loopback, options.Port);
            network?.Configure(kestrel, options.Port);
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = PhotoUpload.MostBytes + 65_536;
        });
        builder.Services.AddSingleton(store).AddSingleton(log).AddSingleton<NetworkDoor>();
        builder.Services.AddSingleton<HeavyWork>();
        builder.Services.AddSingleton<RoomTable>();
        builder.Services.AddSingleton(TimeProvider.System).AddSingleton<Phone.PhoneDoor>();
        builder.Services.AddSingleton<PreviewTable>();
        builder.Services.AddMudServices();
        builder.Services.AddRazorComponents().AddInteractiveServerComponents();
        await using WebApplication application = builder.Build();
        application.UseMiddleware<FaultAnswers>();
        application.UseMiddleware<LocalRequestsOnly>();
        application.UseMiddleware<NetworkGate>();
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
        catch (Exception e) when (e is IOException or SocketException)
        {
            throw new InputException(
                "The workroom can't listen there",
                string.Create(System.Globalization.CultureInfo.InvariantCulture, $"port {options.Port}"),
                "Close the other program that uses this port, or give another with --port.",
                e
            );
        }

        ICollection<string> bound = application
            .Services.GetRequiredService<IServer>()
            .Features.Get<IServerAddressesFeature>()!
            .Addresses;
        Uri address = bound.Select(a => new Uri(a)).First(a => a.IsLoopback);
        _ = Task.Run(() => OwnVisit.MakeAsync(address, cancellation), cancellation);
        log.Note(
            "workroom",
            network is null ? "started, for this machine alone" : "started, for this machine and its own networks"
        );
        started(
            new(
                address,
                network is null ? null : Open(application.Services.GetRequiredService<NetworkDoor>(), network, bound)
            )
        );
        await application.WaitForShutdownAsync(cancellation);
        log.Note("workroom", "ended");
    }

    private static NetworkPlace Open(NetworkDoor door, NetworkListening network, IEnumerable<string> bound)
    {
        door.Stand(network.Own, network.Of(bound), network.Certificate);
        Phone.Pairing code = door.ShowCode();
        return new(
            door.Addresses,
            code.Code,
            door.Fingerprint,
            Phone.QrPicture.InTextSigns(NetworkDoor.WithCode(door.Addresses[0], code))
        );
    }
}
