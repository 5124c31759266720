using System.Net;
using System.Security.Cryptography.X509Certificates;
using Microsoft.AspNetCore.Connections;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Workroom.Network;

/// <summary>Has the server listen on the machine's own network addresses, over HTTPS with the installation's certificate.</summary>
/// <remarks>The addresses are those at the start; on another network the program is started again.</remarks>
internal sealed class NetworkListening : IDisposable
{
    // A few devices with half a dozen connections each. A crowd that only holds connections open uses these up and no more: the
    // screen at the machine itself comes by another listener.
    private const int MostConnections = 64;

    private readonly X509Certificate2 certificate;
    private int open;

    private NetworkListening(OwnAddresses addresses, X509Certificate2 certificate)
    {
        Own = addresses;
        this.certificate = certificate;
    }

    public OwnAddresses Own { get; }

    public X509Certificate2 Certificate => certificate;

    /// <exception cref="InputException">This machine is on no network, or the certificate can't be kept.</exception>
    public static NetworkListening Prepare(string root, TimeProvider clock)
    {
        OwnAddresses addresses = OwnAddresses.Find();
        return addresses.All.Count > 0
            ? new(addresses, InstallationCertificate.Open(root, addresses, clock))
            : throw new InputException(
                "This machine is on no network",
                "the network",
                "Join the network that the other device is on, or start the workroom without --lan."
            );
    }

    public void Configure(KestrelServerOptions kestrel, int port)
    {
        foreach (IPAddress address in Own.All)
        {
            kestrel.Listen(
                address,
                port,
                listen =>
                {
                    listen.Protocols = HttpProtocols.Http1;
                    listen.Use(Counted);
                    listen.UseHttps(certificate);
                }
            );
        }
    }

    /// <summary>The addresses that the server listens on, as others open them; the most likely first.</summary>
    /// <param name="bound">The server's own list.</param>
    public IReadOnlyList<Uri> Of(IEnumerable<string> bound) =>
        [
            .. bound
                .Select(a => new Uri(a))
                .Where(a => a.Scheme == Uri.UriSchemeHttps)
                .OrderBy(a =>
                {
                    int likely = Own.Likely.Select(i => i.ToString()).ToList().IndexOf(a.Host);
                    return likely < 0 ? int.MaxValue : likely;
                }),
        ];

    /// <inheritdoc/>
    public void Dispose() => certificate.Dispose();

    private ConnectionDelegate Counted(ConnectionDelegate next) =>
        async connection =>
        {
            try
            {
                if (Interlocked.Increment(ref open) > MostConnections)
                {
                    connection.Abort();
                    return;
                }

                await next(connection);
            }
            finally
            {
                Interlocked.Decrement(ref open);
            }
        };
}
