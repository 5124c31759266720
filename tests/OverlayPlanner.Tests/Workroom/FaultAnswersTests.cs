using System.Text;
using Microsoft.AspNetCore.Http;
using OverlayPlanner.Workroom.Log;

namespace OverlayPlanner.Tests.Workroom;

public sealed class FaultAnswersTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-fault-").FullName;

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public async Task An_address_that_fails_answers_500_in_words_with_the_id_that_the_log_has()
    {
        using RoomLog log = new(root, new HandClock());
        DefaultHttpContext context = new();
        context.Request.Method = "GET";
        context.Request.Path = "/choices/one/two";
        context.Request.QueryString = new("?width=900");
        context.Response.Body = new MemoryStream();
        await new FaultAnswers(_ => throw new InvalidOperationException("No picture."), log).InvokeAsync(context);
        string answer = Encoding.UTF8.GetString(((MemoryStream)context.Response.Body).ToArray());
        string line = (await File.ReadAllLinesAsync(log.Path, TestContext.Current.CancellationToken))[0];
        string id = line.Split(' ')[2];
        Assert.Equal(StatusCodes.Status500InternalServerError, context.Response.StatusCode);
        Assert.Contains("What you saved is safe.", answer, StringComparison.Ordinal);
        Assert.Contains($"<strong>{id}</strong>", answer, StringComparison.Ordinal);
        Assert.DoesNotContain("No picture", answer, StringComparison.Ordinal);
        Assert.EndsWith("GET /choices/one/two: No picture.", line, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_reader_who_went_away_is_no_fault()
    {
        using RoomLog log = new(root, new HandClock());
        using CancellationTokenSource gone = new();
        await gone.CancelAsync();
        DefaultHttpContext context = new() { RequestAborted = gone.Token };
        await new FaultAnswers(c => Task.FromCanceled(c.RequestAborted), log).InvokeAsync(context);
        Assert.False(File.Exists(log.Path));
    }
}
