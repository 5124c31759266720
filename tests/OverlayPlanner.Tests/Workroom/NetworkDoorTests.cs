using System.Net;
using OverlayPlanner.Workroom.Network;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Tests.Workroom;

public class NetworkDoorTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_code_lets_one_device_in_by_a_key_of_its_own_until_the_door_is_shut()
    {
        using NetworkDoor door = new(new SwiftClock());
        Assert.Equal((Entry.NoCode, null), await door.EnterAsync("abc", Stop));
        Pairing code = door.ShowCode();
        string spaced = string.Join(' ', code.Code.ToUpperInvariant().Chunk(5).Select(c => new string(c)));
        (Entry how, string? key) = await door.EnterAsync(spaced, Stop);
        Assert.Equal(Entry.In, how);

        // 256 bits.
        Assert.Equal(32, Convert.FromHexString(key!).Length);
        Assert.True(door.Knows(key, out CancellationToken ended));
        Assert.False(door.Knows(key + "0", out _));
        Assert.False(door.Knows(null, out _));

        // The code is used up.
        Assert.Equal((Entry.NoCode, null), await door.EnterAsync(code.Code, Stop));
        (_, string? second) = await door.EnterAsync(door.ShowCode().Code, Stop);
        Assert.NotEqual(key, second);
        Assert.Equal(2, door.Devices);

        door.ShowCode();
        door.Shut();
        Assert.True(ended.IsCancellationRequested);
        Assert.Equal(0, door.Devices);
        Assert.Null(door.Code);
        Assert.False(door.Knows(key, out _));
        Assert.False(door.Knows(second, out _));
    }

    [Fact]
    public async Task Wrong_codes_wait_longer_each_time_and_the_fifth_kills_the_code()
    {
        SwiftClock clock = new();
        using NetworkDoor door = new(clock);
        Pairing code = door.ShowCode();
        for (int n = 1; n <= Pairing.MostWrongTries; n++)
        {
            (Entry how, string? key) = await door.EnterAsync($"wrong{(char)('a' + n)}", Stop);
            Assert.Equal(n < Pairing.MostWrongTries ? Entry.WrongCode : Entry.NoCode, how);
            Assert.Null(key);
        }

        // Doubled from one second, at most eight.
        Assert.Equal([1, 2, 4, 8, 8], clock.Waits.Select(w => w.TotalSeconds));
        Assert.True(door.GuessedTooOften);
        Assert.Equal((Entry.NoCode, null), await door.EnterAsync(code.Code, Stop));
        Assert.Equal(0, door.Devices);
    }

    [Theory]
    [InlineData("192.0.2.7", true)]
    [InlineData("[2001:db8::7]", true)]
    [InlineData("FRAME.local", true)]
    [InlineData("frame", true)]
    [InlineData("192.0.2.8", false)]
    [InlineData("127.0.0.1", false)]
    [InlineData("localhost", false)]
    [InlineData("frame.example", false)]
    [InlineData("", false)]
    public void Only_the_machine_s_own_names_are_its_own(string host, bool own)
    {
        OwnAddresses here = new("frame", [IPAddress.Parse("192.0.2.7"), IPAddress.Parse("2001:db8::7")], []);
        string root = Directory.CreateTempSubdirectory("overlayplanner-door-").FullName;
        try
        {
            using NetworkDoor door = new(TimeProvider.System);
            using var certificate = InstallationCertificate.Open(root, here, TimeProvider.System);
            door.Stand(here, [new Uri("https://192.0.2.7:5177/")], certificate);
            Assert.Equal(own, door.IsOwnName(host));
        }
        finally
        {
            Directory.Delete(root, recursive: true);
        }
    }

    /// <summary>A clock whose waits are over at once, and which keeps how long they were to be.</summary>
    private sealed class SwiftClock : TimeProvider
    {
        public List<TimeSpan> Waits { get; } = [];

        public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
        {
            Waits.Add(dueTime);
            return base.CreateTimer(callback, state, TimeSpan.Zero, period);
        }
    }
}
