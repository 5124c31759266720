using System.Text.RegularExpressions;
using OverlayPlanner.Workroom.Log;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Tests.Workroom;

public sealed class RoomLogTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-log-").FullName;
    private readonly HandClock clock = new();

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void An_error_has_its_time_level_id_place_and_cause()
    {
        using RoomLog log = new(root, clock);
        string id = log.Fault("screen /quilt/one/photo", Thrown("The pins are three."));
        string[] lines = Lines();
        Assert.Equal($"2026-03-01T09:00:00.000Z error {id} screen /quilt/one/photo: The pins are three.", lines[0]);
        Assert.Matches("^[2-9a-hjkmnp-z]{6}$", id);
        Assert.StartsWith(
            "    System.InvalidOperationException: The pins are three.",
            lines[1],
            StringComparison.Ordinal
        );
        Assert.Contains(lines, l => l.Contains(nameof(Thrown), StringComparison.Ordinal));
        Assert.NotEqual(id, log.Fault("screen /", Thrown("Again.")));
    }

    [Fact]
    public void Codes_queries_and_pictures_are_left_out_and_nothing_begins_a_line_that_is_not_its_own()
    {
        using RoomLog log = new(root, clock);
        Pairing pairing = new(clock);
        log.Fault(
            $"GET /send\n2026-03-01T09:00:00.000Z info - forged",
            new IOException(
                $"https://192.0.2.7:4321/send?code={pairing.Code}&more=1 then {pairing.Code} and data:image/png;base64,iVBORw0KGgo="
            )
        );
        string text = File.ReadAllText(Path.Combine(root, RoomLog.FileName));
        Assert.DoesNotContain(pairing.Code, text, StringComparison.Ordinal);
        Assert.DoesNotContain("more=1", text, StringComparison.Ordinal);
        Assert.DoesNotContain("iVBOR", text, StringComparison.Ordinal);
        Assert.Contains("https://192.0.2.7:4321/send?…", text, StringComparison.Ordinal);
        Assert.Single(Lines(), l => l.StartsWith("2026-", StringComparison.Ordinal));
    }

    [Fact]
    public void A_full_file_gives_way_and_five_are_kept_behind()
    {
        using RoomLog log = new(root, clock);

        // Each note is cut at 8,000 signs; eight files of a megabyte take 1,000.
        string words = new('x', 20_000);
        for (int n = 0; n < 1_000; n++)
        {
            log.Note("workroom", words);
        }

        string[] files =
        [
            .. Directory.EnumerateFiles(root).Select(f => Path.GetFileName(f)).Order(StringComparer.Ordinal),
        ];
        Assert.Equal(
            ["workroom-1.log", "workroom-2.log", "workroom-3.log", "workroom-4.log", "workroom-5.log", "workroom.log"],
            files
        );

        // The entry that fills a file may run over by its own length.
        Assert.All(
            Directory.EnumerateFiles(root),
            f => Assert.InRange(new FileInfo(f).Length, 1, RoomLog.MostBytes + 8_100)
        );
    }

    [Fact]
    public void A_disk_that_takes_no_line_stops_nothing()
    {
        // A folder where the file should be, and a folder that is not there: no line can be written, whoever runs the test.
        Directory.CreateDirectory(Path.Combine(root, RoomLog.FileName));
        using RoomLog blocked = new(root, clock);
        Assert.Matches(
            new Regex("^.{6}$", RegexOptions.None, TimeSpan.FromSeconds(1)),
            blocked.Fault("screen /", Thrown("Full."))
        );
        using RoomLog gone = new(Path.Combine(root, "gone"), clock);
        gone.Note("workroom", "started");
        Assert.False(Directory.Exists(Path.Combine(root, "gone")));
    }

    private string[] Lines() => File.ReadAllLines(Path.Combine(root, RoomLog.FileName));

    private static InvalidOperationException Thrown(string words)
    {
        try
        {
            throw new InvalidOperationException(words);
        }
        catch (InvalidOperationException e)
        {
            return e;
        }
    }
}
