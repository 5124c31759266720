using System.Security.Cryptography;
using System.Text;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>
/// One code that lets a phone in, for ten minutes and five wrong tries, whoever makes them. Who guesses waits longer each time.
/// </summary>
internal sealed class Pairing
{
    /// <summary>How long a code lives.</summary>
    public static readonly TimeSpan Life = TimeSpan.FromMinutes(10);

    /// <summary>Wrong tries that end it.</summary>
    public const int MostWrongTries = 5;

    // 26 signs out of 32 are 130 bits. No 0, 1, i or o: someone may have to type it.
    private const string Signs = "23456789abcdefghjklmnpqrstuvwxyz";
    private const int Signed = 26;
    private static readonly TimeSpan LongestWait = TimeSpan.FromSeconds(8);

    private readonly TimeProvider clock;
    private readonly long begun;
    private readonly byte[] hash;
    private int wrong;

    public Pairing(TimeProvider clock)
    {
        this.clock = clock;
        begun = clock.GetTimestamp();
        Code = RandomNumberGenerator.GetString(Signs, Signed);
        hash = Hash(Code);
    }

    public string Code { get; }

    /// <summary>Time until it ends by itself, never below zero.</summary>
    public TimeSpan Left
    {
        get
        {
            // The running time, not the time of day: setting the clock neither shortens nor lengthens a code's life.
            TimeSpan left = Life - clock.GetElapsedTime(begun);
            return left > TimeSpan.Zero ? left : TimeSpan.Zero;
        }
    }

    public bool GuessedTooOften => Volatile.Read(ref wrong) >= MostWrongTries;

    public bool Over => GuessedTooOften || Left == TimeSpan.Zero;

    /// <summary>Whether this is the code, and how long who gave a wrong one is to wait for the answer.</summary>
    /// <remarks>No code at all is let in no more than a wrong one, but guesses nothing, and so is not counted as a try.</remarks>
    public (bool Right, TimeSpan Wait) Try(string? code)
    {
        if (string.IsNullOrEmpty(code))
        {
            return (false, TimeSpan.Zero);
        }

        // Hashes are of one length, so the comparison takes one time whatever was sent.
        bool same = CryptographicOperations.FixedTimeEquals(Hash(code), hash);
        if (same && !Over)
        {
            return (true, TimeSpan.Zero);
        }

        if (same)
        {
            return (false, LongestWait);
        }

        // Counted before the wait: tries that are made side by side gain nothing.
        int tries = Interlocked.Increment(ref wrong);
        TimeSpan wait = TimeSpan.FromSeconds(Math.Pow(2, Math.Min(tries, 10) - 1));
        return (false, wait < LongestWait ? wait : LongestWait);
    }

    private static byte[] Hash(string code) => SHA256.HashData(Encoding.UTF8.GetBytes(code));
}
