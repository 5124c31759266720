using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Tests.Workroom;

public class PairingTests
{
    private readonly HandClock clock = new();

    [Fact]
    public void Its_code_is_let_in_for_ten_minutes_and_not_after()
    {
        Pairing pairing = new(clock);
        Assert.True(pairing.Try(pairing.Code).Right);
        clock.Turn(TimeSpan.FromMinutes(10) - TimeSpan.FromSeconds(1));
        Assert.True(pairing.Try(pairing.Code).Right);
        Assert.Equal(TimeSpan.FromSeconds(1), pairing.Left);
        clock.Turn(TimeSpan.FromSeconds(1));
        Assert.False(pairing.Try(pairing.Code).Right);
        Assert.True(pairing.Over);
        Assert.False(pairing.GuessedTooOften);
    }

    [Fact]
    public void Four_wrong_tries_are_forgiven_and_the_fifth_ends_it_each_answered_slower()
    {
        Pairing pairing = new(clock);
        double[] waits =
        [
            .. Enumerable.Range(0, 4).Select(i => pairing.Try($"wrong{(char)('a' + i)}").Wait.TotalSeconds),
        ];
        Assert.Equal([1, 2, 4, 8], waits);
        Assert.True(pairing.Try(pairing.Code).Right);
        Assert.False(pairing.Try("again").Right);
        Assert.True(pairing.GuessedTooOften);
        Assert.False(pairing.Try(pairing.Code).Right);
    }

    [Fact]
    public void Tries_side_by_side_are_all_counted()
    {
        Pairing pairing = new(clock);
        Parallel.For(0, Pairing.MostWrongTries, _ => Assert.False(pairing.Try("guess").Right));
        Assert.True(pairing.Over);
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    public void No_code_is_not_let_in_and_is_no_guess(string? code)
    {
        Pairing pairing = new(clock);
        for (int i = 0; i < 2 * Pairing.MostWrongTries; i++)
        {
            Assert.False(pairing.Try(code).Right);
        }

        Assert.False(pairing.Over);
    }

    [Fact]
    public void Near_misses_are_wrong()
    {
        Pairing pairing = new(clock);
        Assert.False(pairing.Try(pairing.Code[..^1]).Right);
        Assert.False(pairing.Try(pairing.Code + "2").Right);
        Assert.False(pairing.Try(pairing.Code.ToUpperInvariant()).Right);
    }

    [Fact]
    public void A_code_has_at_least_128_bits_and_each_is_new()
    {
        string[] codes = [.. Enumerable.Range(0, 400).Select(_ => new Pairing(clock).Code)];
        int signs = codes.SelectMany(c => c).Distinct().Count();
        Assert.True(Math.Log2(signs) * codes[0].Length >= 128);
        Assert.Equal(codes.Length, codes.Distinct(StringComparer.Ordinal).Count());
    }
}
