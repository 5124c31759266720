using System.Globalization;
using System.Security;
using System.Security.Cryptography;
using System.Text;
using Microsoft.Extensions.Logging;

namespace OverlayPlanner.Workroom.Log;

/// <summary>
/// What happened, as plain text beside the quilts (<see cref="FileName"/>, where the quilter's settings lie too): UTC time, level,
/// error id where there is one, and words. A file that has grown to <see cref="MostBytes"/> is put behind and a new one begun;
/// <see cref="KeptBehind"/> are kept. Pairing codes, query strings and pictures never get into it (<see cref="LogWords"/>).
/// </summary>
/// <remarks>A log that can't be written, on a full disk or in a folder without rights, is left out: it stops nothing.</remarks>
internal sealed class RoomLog(string root, TimeProvider clock) : ILoggerProvider
{
    /// <summary>Name of the file that is written; those behind it are <c>workroom-1.log</c>, the youngest, and so on.</summary>
    public const string FileName = "workroom.log";

    /// <summary>Size at which the next file is begun, bytes.</summary>
    public const long MostBytes = 1_000_000;

    /// <summary>Full files that are kept behind the one that is written.</summary>
    public const int KeptBehind = 5;

    // Signs that are read out over the telephone without a mistake; six of 30 are 700 million: no two in one log are alike.
    private const string IdSigns = "23456789abcdefghjkmnpqrstuvwxyz";
    private const int IdLength = 6;

    private readonly Lock turn = new();

    /// <summary>Where it is written.</summary>
    public string Path { get; } = System.IO.Path.Combine(root, FileName);

    /// <summary>Notes that something happened.</summary>
    /// <param name="where">The part of the program, a word or two.</param>
    public void Note(string where, string what) => Write(LogLevel.Information, null, where, what, null);

    /// <summary>Notes an error that nobody foresaw.</summary>
    /// <param name="where">The screen or the address without its query.</param>
    /// <returns>The error's id, to be shown on the screen.</returns>
    public string Fault(string where, Exception error)
    {
        string id = NewId();
        Write(LogLevel.Error, id, where, error.Message, error);
        return id;
    }

    /// <inheritdoc/>
    public ILogger CreateLogger(string categoryName) => new Lines(this, categoryName);

    /// <inheritdoc/>
    public void Dispose()
    {
        // Every line was written and let go: there is nothing to close.
    }

    private static string NewId() => RandomNumberGenerator.GetString(IdSigns, IdLength);

    private void Write(LogLevel level, string? id, string where, string what, Exception? error)
    {
        string time = clock.GetUtcNow().ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
        string entry = LogWords.Entry($"{time} {WordOf(level)} {id ?? "-"} {where}: ", what, error);
        try
        {
            lock (turn)
            {
                Roll();
                using FileStream file = new(Path, FileMode.Append, FileAccess.Write, FileShare.ReadWrite);
                file.Write(Encoding.UTF8.GetBytes(entry));
            }
        }
        catch (Exception e) when (IsOfTheDisk(e))
        {
            // The program goes on without this line.
        }
    }

    private void Roll()
    {
        FileInfo now = new(Path);
        if (!now.Exists || now.Length < MostBytes)
        {
            return;
        }

        for (int n = KeptBehind; n > 1; n--)
        {
            if (File.Exists(Behind(n - 1)))
            {
                File.Move(Behind(n - 1), Behind(n), overwrite: true);
            }
        }

        File.Move(Path, Behind(1), overwrite: true);
    }

    private string Behind(int n) =>
        System.IO.Path.Combine(root, string.Create(CultureInfo.InvariantCulture, $"workroom-{n}.log"));

    private static bool IsOfTheDisk(Exception e) =>
        e is IOException or UnauthorizedAccessException or SecurityException or NotSupportedException;

    private static string WordOf(LogLevel level) =>
        level switch
        {
            LogLevel.Warning => "warning",
            LogLevel.Error => "error",
            LogLevel.Critical => "critical",
            _ => "info",
        };

    /// <summary>What the server itself has to say, from warnings upwards: below that it tells of every request.</summary>
    private sealed class Lines(RoomLog log, string category) : ILogger
    {
        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel level) => level is >= LogLevel.Warning and < LogLevel.None;

        public void Log<TState>(
            LogLevel level,
            EventId eventId,
            TState state,
            Exception? exception,
            Func<TState, Exception?, string> formatter
        )
        {
            if (IsEnabled(level))
            {
                string? id = level >= LogLevel.Error ? NewId() : null;
                log.Write(level, id, category, formatter(state, exception), exception);
            }
        }
    }
}
