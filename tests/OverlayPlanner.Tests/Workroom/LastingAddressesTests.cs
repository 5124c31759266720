using System.Net;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Tests.Workroom;

public class LastingAddressesTests
{
    [Fact]
    public void Addresses_that_are_made_up_for_privacy_or_run_out_do_not_last()
    {
        // Linux's table: address, interface, prefix, scope, flags (0x80 permanent, 0x01 temporary, 0x20 deprecated, 0x40 tentative).
        string[] table =
        [
            "20010db800000000000000000000aaaa 02 40 00 80    wlan0",
            "20010db800000000000000000000bbbb 02 40 00 01    wlan0",
            "20010db800000000000000000000cccc 02 40 00 00    wlan0",
            "20010db800000000000000000000dddd 02 40 00 a0    wlan0",
            "20010db800000000000000000000eeee 02 40 00 40    wlan0",
            "fe8000000000000000fc00fffe000001 02 40 20 80    wlan0",
            "00000000000000000000000000000001 01 80 10 80       lo",
            "not a line of it",
        ];
        Assert.Equal(
            ["2001:db8::aaaa", "2001:db8::cccc"],
            LastingAddresses.Read(table).Select(a => a.ToString()).Order(StringComparer.Ordinal)
        );
    }

    [Fact]
    public void Those_of_this_machine_have_no_zone_and_no_loopback()
    {
        OwnAddresses own = OwnAddresses.Find();
        Assert.DoesNotContain(own.All, a => IPAddress.IsLoopback(a) || a.IsIPv6LinkLocal);
        Assert.All(own.Likely, a => Assert.Contains(a, own.All));
    }
}
