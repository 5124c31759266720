using System.CommandLine;
using System.Diagnostics;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workroom;

namespace OverlayPlanner.Cli.Verbs;

internal static class WorkroomVerb
{
    private const int UsualPort = 5177;

    public static Command Create(Terminal terminal)
    {
        Option<int> port = new("--port")
        {
            DefaultValueFactory = _ => UsualPort,
            Description = "The port on this machine; 0 for any free one.",
        };
        Option<bool> open = new("--open") { Description = "Open it in the browser." };
        Option<bool> lan = new("--lan")
        {
            Description =
                "Let other devices on this machine's own networks in too, over HTTPS, each by a code shown here.",
        };
        Option<string> quilts = new("--quilts")
        {
            DefaultValueFactory = _ => QuiltStore.DefaultRoot(),
            Description = "The folder in which quilts are kept.",
        };
        Option<bool> json = Terminal.Json();
        Command command = new(
            "workroom",
            "The workroom in a browser: from a photograph to sheets, on this machine alone unless --lan is given."
        )
        {
            port,
            open,
            lan,
            quilts,
            json,
        };
        terminal.BindServer(
            command,
            json,
            (r, started, cancellation) =>
            {
                int asked = r.GetValue(port);
                if (asked is < 0 or > 65_535)
                {
                    throw new InputException("There is no such port", "--port", "Give a number from 0 to 65535.");
                }

                return WorkroomServer.RunAsync(
                    new(
                        asked,
                        r.GetRequiredValue(quilts),
                        r.GetValue(lan) ? WorkroomReach.OwnNetworks : WorkroomReach.ThisMachine
                    ),
                    place =>
                    {
                        started(Document(place), Words(place));
                        if (r.GetValue(open))
                        {
                            Open(place.Address);
                        }
                    },
                    cancellation
                );
            }
        );
        return command;
    }

    private static JsonObject Document(WorkroomPlace place)
    {
        JsonObject document = new() { ["address"] = place.Address.ToString() };
        if (place.Network is { } network)
        {
            document["network"] = new JsonObject
            {
                ["addresses"] = new JsonArray([.. network.Addresses.Select(a => JsonValue.Create(a.ToString()))]),
                ["code"] = network.Code,
                ["fingerprint"] = network.Fingerprint,
            };
        }

        return document;
    }

    private static string Words(WorkroomPlace place)
    {
        string here = $"The workroom is at {place.Address} (Ctrl-C ends it).";
        return place.Network is not { } network
            ? here
            : $"""
                {here}
                On your network it is at {string.Join(", ", network.Addresses)}
                The code lets one device in within ten minutes: {network.Code}
                More codes, and shutting the door: Your machine and rulers, on this machine.
                The other device will warn, since this machine vouches for itself. Its certificate's SHA-256 fingerprint:
                {network.Fingerprint}

                {network.Picture}
                """;
    }

    // Without a desktop nothing opens; the address is on the screen all the same.
    private static void Open(Uri address)
    {
        try
        {
            using Process? browser = Process.Start(new ProcessStartInfo(address.ToString()) { UseShellExecute = true });
        }
        catch (Exception e) when (e is System.ComponentModel.Win32Exception or PlatformNotSupportedException)
        {
            Console.Error.WriteLine("note: no browser opened by itself; open the address by hand.");
        }
    }
}
