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
        Option<string> quilts = new("--quilts")
        {
            DefaultValueFactory = _ => QuiltStore.DefaultRoot(),
            Description = "The folder in which quilts are kept.",
        };
        Option<bool> json = Terminal.Json();
        Command command = new("workroom", "The workroom in a browser: from a photograph to sheets, on this machine alone.")
        {
            port,
            open,
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
                    new(asked, r.GetRequiredValue(quilts)),
                    address =>
                    {
                        started(new JsonObject { ["address"] = address.ToString() }, $"The workroom is at {address} (Ctrl-C ends it).");
                        if (r.GetValue(open))
                        {
                            Open(address);
                        }
                    },
                    cancellation
                );
            }
        );
        return command;
    }

    // Without a desktop nothing opens; the address is on the screen all the same.
    private static void Open(Uri address)
    {
        try
        {
            using Process? browser = Process.Start(
                new ProcessStartInfo(address.ToString()) { UseShellExecute = true }
            );
        }
        catch (Exception e) when (e is System.ComponentModel.Win32Exception or PlatformNotSupportedException)
        {
            Console.Error.WriteLine("note: no browser opened by itself; open the address by hand.");
        }
    }
}
