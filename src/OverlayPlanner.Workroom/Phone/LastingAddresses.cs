using System.Globalization;
using System.Net;
using System.Net.NetworkInformation;
using System.Net.Sockets;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>
/// Tells the addresses that a machine keeps from those of IPv6 that it makes up anew every day for privacy (RFC 8981). A certificate
/// that named the latter would be remade every day, and phones would warn every day.
/// </summary>
internal static class LastingAddresses
{
    // Linux, include/uapi/linux/if_addr.h.
    private const int Temporary = 0x01;
    private const int Deprecated = 0x20;
    private const int Tentative = 0x40;

    private const string LinuxTable = "/proc/net/if_inet6";

    /// <summary>Whether an address lasts, as the system tells now. Where it does not tell, no address of IPv6 does.</summary>
    public static Predicate<UnicastIPAddressInformation> Now()
    {
        if (OperatingSystem.IsWindows())
        {
            return a =>
                IsOld(a.Address)
                || (IsWide(a.Address) && OperatingSystem.IsWindows() && a.SuffixOrigin != SuffixOrigin.Random);
        }

        HashSet<IPAddress> lasting = OperatingSystem.IsLinux() ? FromLinux() : [];
        return a => IsOld(a.Address) || lasting.Contains(a.Address);
    }

    /// <summary>Lasting addresses of IPv6 in Linux's table of them.</summary>
    /// <param name="table">
    /// Lines of address (32 hexadecimal digits), number of the interface, length of the prefix, scope, flags, name of the interface.
    /// </param>
    public static HashSet<IPAddress> Read(IEnumerable<string> table)
    {
        HashSet<IPAddress> lasting = [];
        foreach (string[] fields in table.Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries)))
        {
            if (
                fields.Length >= 5
                && fields[0].Length == 32
                && int.TryParse(fields[4], NumberStyles.HexNumber, CultureInfo.InvariantCulture, out int flags)
                && (flags & (Temporary | Deprecated | Tentative)) == 0
            )
            {
                IPAddress address = new(Convert.FromHexString(fields[0]));
                if (IsWide(address))
                {
                    lasting.Add(address);
                }
            }
        }

        return lasting;
    }

    private static HashSet<IPAddress> FromLinux()
    {
        try
        {
            return Read(File.ReadLines(LinuxTable));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // No such table: a machine without IPv6.
            return [];
        }
    }

    private static bool IsOld(IPAddress address) => address.AddressFamily == AddressFamily.InterNetwork;

    private static bool IsWide(IPAddress address) =>
        address.AddressFamily == AddressFamily.InterNetworkV6
        && !address.IsIPv6LinkLocal
        && !IPAddress.IsLoopback(address);
}
