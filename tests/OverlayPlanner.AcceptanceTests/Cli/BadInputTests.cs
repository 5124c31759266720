using System.Diagnostics;
using System.Text;
using OverlayPlanner.AcceptanceTests.Support;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Bad input: one clear answer, exit 1, nothing half-written, nothing existing lost.</summary>
public sealed class BadInputTests : IDisposable
{
    private const string Corners = "10,10 600,10 600,400 10,400";
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    private Task<Tool.Outcome> MapAsync(string photo, string corners = Corners, string size = "12x12") =>
        Tool.RunAsync(
            "map",
            photo,
            "--corners",
            corners,
            "--size",
            size,
            "--out",
            scratch.At("quilt.json"),
            "--preview",
            scratch.At("p.png")
        );

    private void NothingWritten(params string[] expected) =>
        Assert.Equal(expected.Order(StringComparer.Ordinal), scratch.Files);

    [Fact]
    public async Task A_missing_photo_is_named()
    {
        (await MapAsync(scratch.At("none.jpg"))).MustRefuse("none.jpg");
        NothingWritten();
    }

    [Fact]
    public async Task A_text_file_named_jpg_is_no_picture()
    {
        (await MapAsync(scratch.Write("a.jpg", "This is a letter, not a picture."))).MustRefuse("a.jpg");
        NothingWritten("a.jpg");
    }

    [Fact]
    public async Task An_empty_file_is_no_picture()
    {
        (await MapAsync(scratch.Write("a.jpg", ""))).MustRefuse("a.jpg");
        NothingWritten("a.jpg");
    }

    [Fact]
    public async Task A_truncated_photo_is_refused()
    {
        byte[] whole = Workflows.Sample.Load().Jpeg;
        File.WriteAllBytes(scratch.At("half.jpg"), whole[..(whole.Length / 2)]);

        (await MapAsync(scratch.At("half.jpg"))).MustRefuse("half.jpg");
        NothingWritten("half.jpg");
    }

    [Fact]
    public async Task A_picture_of_one_pixel_is_refused()
    {
        File.WriteAllBytes(
            scratch.At("one.png"),
            Convert.FromBase64String(
                "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
            )
        );

        (await MapAsync(scratch.At("one.png"))).MustRefuse("one.png");
        NothingWritten("one.png");
    }

    [Fact]
    public async Task A_header_of_300_megapixels_is_refused_before_decoding()
    {
        // A PNG whose header alone says 20,000 × 15,000.
        byte[] png = PngHeader(20_000, 15_000);
        File.WriteAllBytes(scratch.At("huge.png"), png);
        long before = GC.GetTotalAllocatedBytes();

        (await MapAsync(scratch.At("huge.png"))).MustRefuse("huge.png");

        Assert.True(GC.GetTotalAllocatedBytes() - before < 50_000_000);
        NothingWritten("huge.png");
    }

    [Theory]
    [InlineData("10,10 10,400 600,400 600,10")] // anticlockwise
    [InlineData("10,10 600,400 600,10 10,400")] // a bow tie
    [InlineData("10,10 100,10 200,10 300,10")] // on one line
    [InlineData("10,10 10,10 600,400 10,400")] // two are one
    [InlineData("10,10 600,10 600,400")] // three
    [InlineData("a,b c,d e,f g,h")]
    [InlineData("1e12,0 1e13,0 1e13,1e13 0,1e13")]
    public async Task Corners_that_are_no_rectangle_are_refused(string corners)
    {
        (await MapAsync(SamplePhoto(), corners)).MustRefuse("corner");
        NothingWritten("sample.jpg");
    }

    [Theory]
    [InlineData("0x12")]
    [InlineData("12x0")]
    [InlineData("-3x12")]
    [InlineData("1e9x1e9")]
    [InlineData("nanx12")]
    [InlineData("twelve")]
    public async Task An_impossible_size_is_refused(string size)
    {
        (await MapAsync(SamplePhoto(), size: size)).MustRefuse();
        NothingWritten("sample.jpg");
    }

    [Fact]
    public async Task A_photo_without_scale_is_refused()
    {
        (await Tool.RunAsync("map", SamplePhoto(), "--out", scratch.At("quilt.json"))).MustRefuse("card", "--corners");
        NothingWritten("sample.jpg");
    }

    [Fact]
    public async Task An_unknown_block_names_near_ones()
    {
        (await Tool.RunAsync("blocks", "draft", "sawtoth star", "--out", scratch.At("q.json"))).MustRefuse(
            "sawtooth-star"
        );
        NothingWritten();
    }

    [Theory]
    [InlineData("0")]
    [InlineData("1e9")]
    [InlineData("-12")]
    [InlineData("12,5")]
    public async Task An_impossible_block_size_is_refused(string size)
    {
        (await Tool.RunAsync("blocks", "draft", "shoofly", "--size", size, "--out", scratch.At("q.json"))).MustRefuse(
            "--size"
        );
        NothingWritten();
    }

    [Fact]
    public async Task A_map_whose_seams_cross_is_refused_with_the_place()
    {
        string map = scratch.Write(
            "x.json",
            """
            {"format":"overlayplanner.quilt-map","version":1,"unit":"in","size":{"width":10,"height":10},
             "junctions":[{"id":"a","x":0,"y":0},{"id":"b","x":10,"y":10},{"id":"c","x":10,"y":0},{"id":"d","x":0,"y":10}],
             "seams":[{"id":"s1","from":"a","to":"b"},{"id":"s2","from":"c","to":"d"}],"patches":[],"blocks":[]}
            """
        );

        (await Tool.RunAsync("route", map, "--out", scratch.At("r.json"))).MustRefuse("cross", "s1", "s2", "5");
        NothingWritten("x.json");
    }

    [Fact]
    public async Task A_route_for_another_map_is_refused()
    {
        (await Tool.RunAsync("blocks", "draft", "shoofly", "--out", scratch.At("q.json"))).MustBeDone();
        (await Tool.RunAsync("route", scratch.At("q.json"), "--out", scratch.At("r.json"))).MustBeDone();
        string text = File.ReadAllText(scratch.At("r.json"));

        // The same route over a map whose point j1 lies elsewhere.
        int at = text.IndexOf("\"id\": \"j2\"", StringComparison.Ordinal);
        int x = text.IndexOf("\"x\": ", at, StringComparison.Ordinal);
        string moved = text[..x] + "\"x\": 0.5, \"was\": " + text[(x + 5)..];
        string other = scratch.Write("other.json", moved);

        (await Tool.RunAsync("sheets", other, "--out", scratch.At("s.pdf"))).MustRefuse("other.json");
        NothingWritten("other.json", "q.json", "r.json");
    }

    [Fact]
    public async Task A_later_file_version_is_refused_by_name()
    {
        string map = scratch.Write("later.json", """{"format":"overlayplanner.quilt-map","version":2,"unit":"in"}""");

        (await Tool.RunAsync("route", map, "--out", scratch.At("r.json"))).MustRefuse("version 2");
    }

    [Fact]
    public async Task A_folder_that_does_not_exist_and_one_that_is_a_file_are_refused()
    {
        scratch.Write("file", "x");

        (await Tool.RunAsync("blocks", "draft", "shoofly", "--out", scratch.At("none/q.json"))).MustRefuse("none");
        (await Tool.RunAsync("blocks", "draft", "shoofly", "--out", scratch.At("file/q.json"))).MustRefuse("file");
        (await Tool.RunAsync("demo", "--out", scratch.At("file"))).MustRefuse("file");
        NothingWritten("file");
    }

    [Fact]
    public async Task A_full_disk_loses_nothing()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "needs a small tmpfs, which only Linux mounts");
        using Process probe = Shell("unshare -m true");
        await probe.WaitForExitAsync();
        Assert.SkipUnless(probe.ExitCode == 0, "mounting a small file system is not allowed here");
        string disk = scratch.At("disk");
        Directory.CreateDirectory(disk);

        // A 64 KiB disk with a good file on it; the new map needs more.
        using Process run = Shell(
            $"""
            unshare -m sh -c 'mount -t tmpfs -o size=64k tmpfs {disk} && echo mine > {disk}/q.json &&
            dotnet {Tool.Program} blocks draft bears-paw --repeat 4x4 --out {disk}/q.json --force;
            echo exit $?; ls -A {disk}; cat {disk}/q.json'
            """
        );
        Task<string> error = run.StandardError.ReadToEndAsync();
        string output = await run.StandardOutput.ReadToEndAsync();
        await run.WaitForExitAsync();

        Assert.Equal("exit 1\nq.json\nmine\n", output);
        Assert.Contains("remedy:", await error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Control_C_half_way_leaves_nothing_behind()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux() || OperatingSystem.IsMacOS(), "sends SIGINT by kill");
        Workflows.Sample sample = Workflows.Sample.Load();
        string corners = string.Join(' ', sample.Corners.Select(c => FormattableString.Invariant($"{c.X},{c.Y}")));
        using Process run = Tool.Start([
            "map",
            SamplePhoto(),
            "--corners",
            corners,
            "--size",
            FormattableString.Invariant($"{sample.Width.Inches}x{sample.Height.Inches}"),
            "--out",
            scratch.At("quilt.json"),
        ]);
        Task<string> error = run.StandardError.ReadToEndAsync();
        await Task.Delay(900);
        using Process kill = Process.Start(
            "kill",
            ["-INT", run.Id.ToString(System.Globalization.CultureInfo.InvariantCulture)]
        )!;
        await kill.WaitForExitAsync();
        await run.WaitForExitAsync();
        await error;

        Assert.True(run.ExitCode != 0 || scratch.Files.Contains("quilt.json"), "it ended well without writing the map");
        Assert.DoesNotContain(scratch.Files, f => f.Contains("part", StringComparison.Ordinal));
    }

    private string SamplePhoto()
    {
        File.WriteAllBytes(scratch.At("sample.jpg"), Workflows.Sample.Load().Jpeg);
        return scratch.At("sample.jpg");
    }

    private static Process Shell(string command) =>
        Process.Start(
            new ProcessStartInfo("sh", ["-c", command])
            {
                UseShellExecute = false,
                RedirectStandardOutput = true,
                RedirectStandardError = true,
            }
        )!;

    private static byte[] PngHeader(int width, int height)
    {
        byte[] header = new byte[13];
        System.Buffers.Binary.BinaryPrimitives.WriteInt32BigEndian(header, width);
        System.Buffers.Binary.BinaryPrimitives.WriteInt32BigEndian(header.AsSpan(4), height);
        header[8] = 8;
        header[9] = 2;
        List<byte> png = [0x89, (byte)'P', (byte)'N', (byte)'G', 13, 10, 26, 10];
        Chunk("IHDR", header);
        Chunk("IDAT", [0x78, 0x9C, 0x03, 0x00, 0x00, 0x00, 0x00, 0x01]);
        Chunk("IEND", []);
        return [.. png];

        void Chunk(string type, byte[] data)
        {
            byte[] length = new byte[4];
            System.Buffers.Binary.BinaryPrimitives.WriteInt32BigEndian(length, data.Length);
            png.AddRange(length);
            byte[] body = [.. Encoding.ASCII.GetBytes(type), .. data];
            png.AddRange(body);
            byte[] crc = new byte[4];
            System.Buffers.Binary.BinaryPrimitives.WriteUInt32BigEndian(crc, Crc32(body));
            png.AddRange(crc);
        }
    }

    private static uint Crc32(byte[] data)
    {
        uint crc = 0xFFFFFFFF;
        foreach (byte b in data)
        {
            crc ^= b;
            for (int k = 0; k < 8; k++)
            {
                crc = (crc & 1) != 0 ? (crc >> 1) ^ 0xEDB88320 : crc >> 1;
            }
        }

        return ~crc;
    }
}
