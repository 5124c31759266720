using System.IO.Compression;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Keeping;

public sealed class QuiltZipTests : IDisposable
{
    private const string Good = """{"format":"overlayplanner.kept-quilt","version":1,"name":"Star","later":[1,2]}""";
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-zip-").FullName;
    private readonly QuiltStore store;

    public QuiltZipTests() => store = new(root);

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void An_export_comes_back_with_the_same_files_and_the_same_bytes()
    {
        KeptQuilt quilt = store.Save(
            store.Create("Star"),
            (QuiltStore.MapFile, Encoding.UTF8.GetBytes("{}")),
            ("photo.jpg", new byte[100_000])
        );
        File.WriteAllText(quilt.PathOf(".hidden"), "not a file of the quilt");
        byte[] zip = Exported(quilt);
        KeptQuilt back = store.Import(new MemoryStream(zip));
        Assert.Equal(("star-2", "Star"), (back.Id, back.Name));
        Assert.Equal(zip, Exported(back));
        using ZipArchive archive = new(new MemoryStream(zip));
        Assert.Equal(["photo.jpg", "quilt.json", "quilt.settings.json"], archive.Entries.Select(e => e.FullName));
    }

    [Fact]
    public void Unknown_fields_and_folders_come_in_and_hidden_files_do_not()
    {
        KeptQuilt quilt = store.Import(
            Zip(("quilt.settings.json", Good), ("tiles/0.json", "0"), (".saved/quilt.json", "no"), ("__x/.y", "no"))
        );
        Assert.Equal("0", File.ReadAllText(Path.Combine(quilt.Folder, "tiles", "0.json")));
        Assert.Equal(2, Directory.GetFiles(quilt.Folder, "*", SearchOption.AllDirectories).Length);
        Assert.Contains("later", File.ReadAllText(quilt.PathOf(QuiltStore.SettingsFile)), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("../out.txt")]
    [InlineData("a/../../out.txt")]
    [InlineData("..")]
    [InlineData("/etc/out.txt")]
    [InlineData("//host/out.txt")]
    [InlineData("C:/out.txt")]
    [InlineData("C:out.txt")]
    [InlineData("..\\out.txt")]
    [InlineData("\\out.txt")]
    [InlineData("a//b")]
    [InlineData("nul.txt")]
    [InlineData("a/CON")]
    [InlineData("dot.")]
    [InlineData("QUILT.settings.json")]
    public void A_name_that_leads_elsewhere_or_fits_not_everywhere_lets_nothing_in(string name) =>
        Refused(Zip(("quilt.settings.json", Good), (name, "x")));

    [Fact]
    public void A_link_lets_nothing_in()
    {
        MemoryStream zip = new();
        using (ZipArchive archive = new(zip, ZipArchiveMode.Create, leaveOpen: true))
        {
            Write(archive, "quilt.settings.json", Good);
            // Type of file 0120000 octal in the upper half: a symbolic link (POSIX, sys/stat.h).
            Write(archive, "photo.jpg", "/etc/hostname").ExternalAttributes = unchecked((int)0xA1FF0000);
        }

        Refused(zip);
    }

    [Fact]
    public void What_is_no_zip_is_refused()
    {
        Refused(new MemoryStream());
        Refused(new MemoryStream(Encoding.UTF8.GetBytes("This is a letter, not a zip file.")));
        Refused(new MemoryStream(Zip(("quilt.settings.json", Good), ("a", "b")).ToArray()[..^30]));
    }

    [Fact]
    public void What_holds_no_quilt_is_refused()
    {
        Refused(Zip());
        Refused(Zip(("letter.txt", "Dear")));
        Refused(Zip(("quilt.settings.json", "{}")));
        Refused(Zip(("quilt.settings.json", Good.Replace("Star", " ", StringComparison.Ordinal))));
    }

    [Fact]
    public void A_later_version_is_refused_by_name()
    {
        InputException e = Refused(
            Zip(("quilt.settings.json", Good.Replace("\"version\":1", "\"version\":3", StringComparison.Ordinal)))
        );
        Assert.Contains("overlayplanner.kept-quilt version 3", e.What, StringComparison.Ordinal);
    }

    [Fact]
    public void Two_hundred_files_come_in_and_one_more_does_not()
    {
        (string, string)[] files =
        [
            ("quilt.settings.json", Good),
            .. Enumerable.Range(0, 199).Select(n => (FormattableString.Invariant($"f{n}"), "")),
        ];
        Assert.Equal(200, Directory.GetFiles(store.Import(Zip(files)).Folder).Length);
        store.Remove("star");
        Refused(Zip([.. files, ("one", "more")]));
    }

    [Fact]
    public void Changed_contents_are_refused()
    {
        byte[] zip = Exported(store.Save(store.Create("Star"), ("photo.jpg", Encoding.ASCII.GetBytes("PHOTOGRAPH"))));
        store.Remove("star");
        zip[zip.AsSpan().IndexOf("PHOTOGRAPH"u8)]++;
        Refused(new MemoryStream(zip));
    }

    [Fact]
    public void More_than_500_MB_unpacked_is_refused_though_the_zip_is_small()
    {
        MemoryStream zip = new();
        using (ZipArchive archive = new(zip, ZipArchiveMode.Create, leaveOpen: true))
        {
            Write(archive, "quilt.settings.json", Good);
            byte[] zeros = new byte[1_000_000];
            using Stream entry = archive.CreateEntry("photo.jpg", CompressionLevel.Fastest).Open();
            for (int i = 0; i < 501; i++)
            {
                entry.Write(zeros);
            }
        }

        Assert.True(zip.Length < 10_000_000);
        InputException e = Refused(zip);
        Assert.Contains("too much", e.What, StringComparison.Ordinal);
    }

    private InputException Refused(Stream zip)
    {
        zip.Position = 0;
        InputException e = Assert.Throws<InputException>(() => store.Import(zip));
        Assert.Empty(store.List());
        Assert.DoesNotContain(
            Directory.EnumerateFileSystemEntries(root, "*", SearchOption.AllDirectories),
            p => p.EndsWith(".part", StringComparison.Ordinal) || p.EndsWith("out.txt", StringComparison.Ordinal)
        );
        return e;
    }

    private byte[] Exported(KeptQuilt quilt)
    {
        using MemoryStream zip = new();
        store.Export(quilt.Id, zip);
        return zip.ToArray();
    }

    private static MemoryStream Zip(params (string Name, string Text)[] files)
    {
        MemoryStream zip = new();
        using (ZipArchive archive = new(zip, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach ((string name, string text) in files)
            {
                Write(archive, name, text);
            }
        }

        zip.Position = 0;
        return zip;
    }

    private static ZipArchiveEntry Write(ZipArchive archive, string name, string text)
    {
        ZipArchiveEntry entry = archive.CreateEntry(name);
        using StreamWriter writer = new(entry.Open());
        writer.Write(text);
        return entry;
    }
}
