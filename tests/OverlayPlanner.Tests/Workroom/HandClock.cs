namespace OverlayPlanner.Tests.Workroom;

/// <summary>A clock that is turned by hand.</summary>
internal sealed class HandClock : TimeProvider
{
    private static readonly DateTimeOffset Begin = new(2026, 3, 1, 9, 0, 0, TimeSpan.Zero);
    private TimeSpan passed;

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    public void Turn(TimeSpan by) => passed += by;

    public override DateTimeOffset GetUtcNow() => Begin + passed;

    public override long GetTimestamp() => passed.Ticks;
}
