using System.IO.Pipelines;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Tests.Workroom;

public class PatientStreamTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task What_stops_coming_is_given_up_and_what_came_was_read()
    {
        Pipe line = new();
        await using PatientStream stream = new(line.Reader.AsStream(), TimeSpan.FromMilliseconds(50));
        byte[] read = new byte[8];
        await line.Writer.WriteAsync(new byte[] { 1, 2, 3 }, Stop);
        Assert.Equal(3, await stream.ReadAsync(read, Stop));
        await Assert.ThrowsAsync<TimeoutException>(async () => Assert.Equal(0, await stream.ReadAsync(read, Stop)));
    }

    [Fact]
    public async Task Who_asked_for_the_end_gets_that_end()
    {
        Pipe line = new();
        await using PatientStream stream = new(line.Reader.AsStream(), TimeSpan.FromMinutes(1));
        using CancellationTokenSource gone = new();
        ValueTask<int> reading = stream.ReadAsync(new byte[8], gone.Token);
        await gone.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(async () => await reading);
    }
}
