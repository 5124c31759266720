using System.Net;
using System.Net.NetworkInformation;
using System.Net.Sockets;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>This machine as others on its networks find it.</summary>
/// <param name="Host">Its name, or null where it has none that can stand in a certificate.</param>
/// <param name="All">
/// Every lasting address of a network that is up, in a fixed order. No loopback; of IPv6 none that needs a zone, and none that the
/// machine changes every day for privacy (RFC 8981).
/// </param>
/// <param name="Likely">IPv4 addresses to try from a phone, those of a network with a way out first: most likely the home's own.</param>
internal sealed record OwnAddresses(string? Host, IReadOnlyList<IPAddress> All, IReadOnlyList<IPAddress> Likely)
{
    /// <summary>
    /// Its bare name, and the one by which machines without a name server find each other (RFC 6762). None where it has no name.
    /// </summary>
    public IReadOnlyList<string> Names =>
        Host is not { } host ? []
        : host.Contains('.', StringComparison.Ordinal) ? [host]
        : [host, host + ".local"];

    public static OwnAddresses Find()
    {
        List<(IPAddress Address, bool WayOut)> found = [];
        Predicate<UnicastIPAddressInformation> lasts = LastingAddresses.Now();
        foreach (NetworkInterface network in NetworkInterface.GetAllNetworkInterfaces())
        {
            if (
                network.OperationalStatus == OperationalStatus.Down
                || network.NetworkInterfaceType == NetworkInterfaceType.Loopback
            )
            {
                continue;
            }

            IPInterfaceProperties properties = network.GetIPProperties();
            bool wayOut = properties.GatewayAddresses.Any(g =>
                g.Address.AddressFamily == AddressFamily.InterNetwork && !g.Address.Equals(IPAddress.Any)
            );
            found.AddRange(
                properties
                    .UnicastAddresses.Where(a => !IPAddress.IsLoopback(a.Address) && lasts(a))
                    .Select(a => (a.Address, wayOut))
            );
        }

        string host = Dns.GetHostName();
        return new(
            Uri.CheckHostName(host) == UriHostNameType.Dns ? host.ToLowerInvariant() : null,
            [.. found.Select(f => f.Address).Distinct().OrderBy(a => a.ToString(), StringComparer.Ordinal)],
            [
                .. found
                    .Where(f => f.Address.AddressFamily == AddressFamily.InterNetwork)
                    .OrderByDescending(f => f.WayOut)
                    .Select(f => f.Address)
                    .Distinct(),
            ]
        );
    }
}
