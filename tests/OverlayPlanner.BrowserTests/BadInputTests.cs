using System.Net;
using System.Text;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>What should never have been sent, and too much of what should: clear words, nothing lost, nothing let in.</summary>
public class BadInputTests
{
    private const long TwoHundredMegabytes = 200_000_000;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Films_programs_and_huge_files_are_refused_in_words_and_leave_nothing()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        byte[] mp4 = [0, 0, 0, 24, .. "ftypisom"u8, 0, 0, 2, 0, .. "isommp41"u8, .. new byte[4_000]];
        byte[] mov = [0, 0, 0, 8, .. "wide"u8, 0, 0, 8, 0, .. "mdat"u8, .. new byte[4_000]];
        (string Name, byte[] Bytes, string Said)[] sent =
        [
            ("holiday.jpg", mp4, "not a photo but a film"),
            ("holiday.mp4", mp4, "not a photo but a film"),
            ("holiday.mov", mov, "not a photo but a film"),
            ("quilt.jpg", [.. "MZ"u8, 0x90, .. new byte[4_000]], "not a photo but a program"),
            ("quilt.jpg", [.. "PK"u8, 3, 4, .. new byte[4_000]], "not a photo but a packed file"),
            ("quilt.jpg", [], "No photo came"),
        ];
        foreach ((string name, byte[] bytes, string said) in sent)
        {
            Assert.Contains(said, await SendAsync(room, new ByteArrayContent(bytes), name), StringComparison.Ordinal);
        }

        // A form of its own length, never in memory nor on a disk; read to its end, so that the browser hears the answer.
        string refused = await SendAsync(room, new StreamContent(new Zeros(TwoHundredMegabytes)), "holiday.jpg");
        Assert.Contains("too large to be a photo", refused, StringComparison.Ordinal);
        Assert.Contains("120 MB", refused, StringComparison.Ordinal);
        Assert.Equal([], QuiltsIn(room.Folder));

        // On the screen, a real file of that length with nothing in it: said before a byte is sent.
        string huge = Path.Combine(Path.GetTempPath(), $"overlayplanner-huge-{Guid.NewGuid():N}.jpg");
        try
        {
            await using (FileStream file = File.Create(huge))
            {
                file.SetLength(TwoHundredMegabytes);
            }

            IPage page = await room.OpenAsync();
            await page.Locator("form[data-ready=yes]").WaitForAsync();
            await page.Locator("#photo").SetInputFilesAsync(huge);
            await page.GetByRole(AriaRole.Button, new() { Name = "Use this photo" }).ClickAsync();
            await Assertions.Expect(page.Locator(".bring-said")).ToContainTextAsync("at most 120 MB; no video");
            await page.Locator("#photo")
                .SetInputFilesAsync(
                    new FilePayload
                    {
                        Name = "a.mp4",
                        MimeType = "video/mp4",
                        Buffer = mp4,
                    }
                );
            await page.GetByRole(AriaRole.Button, new() { Name = "Use this photo" }).ClickAsync();
            await Assertions.Expect(page.Locator(".bring-said")).ToContainTextAsync("not a photo but a film");
            await Assertions
                .Expect(page.GetByRole(AriaRole.Button, new() { Name = "Use this photo" }))
                .ToBeEnabledAsync();
        }
        finally
        {
            File.Delete(huge);
        }

        Assert.Equal([], QuiltsIn(room.Folder));
    }

    [Fact]
    public async Task Ten_photos_at_once_become_ten_quilts_each_whole()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        byte[] photo = SmallPhoto();
        string[] answers = await Task.WhenAll(
            Enumerable.Range(0, 10).Select(_ => SendAsync(room, new ByteArrayContent(photo), "star.jpg"))
        );
        Assert.All(answers, a => Assert.StartsWith("/quilt/star", a, StringComparison.Ordinal));
        QuiltStore store = new(room.Folder);
        Assert.Equal(10, store.List().Count);
        Assert.All(store.List(), q => Assert.Equal(photo, File.ReadAllBytes(q.Photo!)));
        Assert.All(store.List(), q => Assert.NotNull(QuiltSteps.PlaceOf(q)));
    }

    [Fact]
    public async Task Quilts_of_a_later_version_stand_on_the_shelf_with_what_to_do_and_stay_as_they_are()
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-later-").FullName;
        QuiltStore store = new(folder);
        Dictionary<string, string> later = [];
        foreach (string file in new[] { QuiltStore.MapFile, QuiltSteps.PlaceFile, QuiltStore.SettingsFile })
        {
            KeptQuilt quilt = QuiltSteps.BringNew(store, SmallPhoto(), $"later {file}.jpg", Stop);
            string name = quilt.Name;
            later[quilt.PathOf(file)] =
                $$"""{ "format": "overlayplanner.kept-quilt", "version": 99, "name": "{{name}}" }""";
        }

        foreach ((string path, string text) in later)
        {
            await File.WriteAllTextAsync(path, text, Stop);
        }

        // The room deletes the folder when it is closed.
        await using Workroom room = await Workroom.StartAsync(Stop, folder);
        IPage page = await room.OpenAsync();
        await Assertions.Expect(page.Locator(".shelf li")).ToHaveCountAsync(3);
        await Assertions.Expect(page.Locator(".trouble")).ToHaveCountAsync(3);
        foreach (string said in await page.Locator(".trouble").AllInnerTextsAsync())
        {
            Assert.Contains("later version", said, StringComparison.Ordinal);
        }

        await ScreenCheck.Look(page, "bad-later-shelf");
        Assert.Empty((await page.RunAxe()).Violations);
        foreach (string path in later.Keys.Where(p => Path.GetFileName(p) != QuiltStore.SettingsFile))
        {
            string id = Path.GetFileName(Path.GetDirectoryName(path)!);
            foreach (string screen in new[] { "photo", "map" })
            {
                await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/{screen}").ToString());
                await page.Locator("h1").WaitForAsync();
                await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
            }

            Assert.Contains(
                "later version",
                Uri.UnescapeDataString(await SendAsync(room, new ByteArrayContent(SmallPhoto()), "new.jpg", id)),
                StringComparison.Ordinal
            );
        }

        Assert.All(later, f => Assert.Equal(f.Value, File.ReadAllText(f.Key)));
    }

    // Where the workroom sends the browser, in plain words.
    private static async Task<string> SendAsync(Workroom room, HttpContent photo, string name, string? quilt = null)
    {
        using HttpClient client = new(new HttpClientHandler { AllowAutoRedirect = false });
        using HttpRequestMessage request = new(
            HttpMethod.Post,
            new Uri(room.Address, quilt is null ? "/bring" : $"/bring/{quilt}")
        )
        {
            Content = new MultipartFormDataContent { { photo, "photo", name } },
        };
        request.Headers.Add("Origin", room.Address.GetLeftPart(UriPartial.Authority));
        using HttpResponseMessage answer = await client.SendAsync(request, Stop);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        return Uri.UnescapeDataString(answer.Headers.Location!.OriginalString);
    }

    private static byte[] SmallPhoto() => SmallPhotos.Plain(640, 480);

    private static IEnumerable<string?> QuiltsIn(string folder) =>
        Directory.EnumerateDirectories(folder).Select(Path.GetFileName).Where(d => d![0] != '.');

    /// <summary>Nothing, and much of it.</summary>
    private sealed class Zeros(long length) : Stream
    {
        private long at;

        public override bool CanRead => true;

        public override bool CanSeek => true;

        public override bool CanWrite => false;

        public override long Length => length;

        public override long Position
        {
            get => at;
            set => at = value;
        }

        public override int Read(byte[] buffer, int offset, int count)
        {
            int n = (int)Math.Min(count, length - at);
            buffer.AsSpan(offset, n).Clear();
            at += n;
            return n;
        }

        public override long Seek(long offset, SeekOrigin origin) =>
            at =
                offset
                + origin switch
                {
                    SeekOrigin.Begin => 0,
                    SeekOrigin.Current => at,
                    _ => length,
                };

        public override void Flush() { }

        public override void SetLength(long value) => throw new NotSupportedException();

        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    }
}
