using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Workroom.Network;

/// <summary>How a device's try to come in ended.</summary>
internal enum Entry
{
    /// <summary>It is in.</summary>
    In,

    /// <summary>That was not the code.</summary>
    WrongCode,

    /// <summary>No code is shown at the machine, or its time or its tries are over.</summary>
    NoCode,
}

/// <summary>
/// The door by which other devices on the machine's own networks come into the workroom. Each is let in by a code that the machine
/// shows: for one device, ten minutes and five tries. It is known by a cookie from then on, until the door is shut or the program
/// ends. Of cookies only hashes are kept, and only in memory.
/// </summary>
internal sealed class NetworkDoor(TimeProvider clock) : IDisposable
{
    private const int KeyBytes = 32;

    private readonly Lock turn = new();
    private readonly Dictionary<string, CancellationTokenSource> devices = new(StringComparer.Ordinal);
    private OwnAddresses own = new(null, [], []);
    private Pairing? code;

    /// <summary>Raised, on any thread, when a code or a device comes or goes.</summary>
    public event EventHandler? Changed;

    /// <summary>Addresses of the workroom on the networks, the most likely first; none where it is not to be reached from there.</summary>
    public IReadOnlyList<Uri> Addresses { get; private set; } = [];

    /// <summary>The certificate's fingerprint.</summary>
    public string Fingerprint { get; private set; } = "";

    /// <summary>The code that lets the next device in; null where none is shown, or its time or its tries are over.</summary>
    public Pairing? Code
    {
        get
        {
            lock (turn)
            {
                return code is { Over: false } ? code : null;
            }
        }
    }

    /// <summary>Whether the last code ended because five wrong ones came.</summary>
    public bool GuessedTooOften
    {
        get
        {
            lock (turn)
            {
                return code is { GuessedTooOften: true };
            }
        }
    }

    /// <summary>Devices that are in.</summary>
    public int Devices
    {
        get
        {
            lock (turn)
            {
                return devices.Count;
            }
        }
    }

    /// <summary>Tells the door where it stands, once the server listens.</summary>
    public void Stand(OwnAddresses here, IReadOnlyList<Uri> addresses, X509Certificate2 certificate)
    {
        own = here;
        Fingerprint = InstallationCertificate.FingerprintOf(certificate);
        Addresses = addresses;
    }

    /// <summary>Whether a request by this name can be meant for this machine: one of its own names or addresses.</summary>
    /// <param name="host">Host of the request without its port.</param>
    public bool IsOwnName(string host) =>
        IPAddress.TryParse(host, out IPAddress? address)
            ? own.All.Contains(address)
            : own.Names.Contains(host, StringComparer.OrdinalIgnoreCase);

    /// <summary>Shows a code for one device; an earlier one is dead.</summary>
    public Pairing ShowCode()
    {
        Pairing shown = new(clock);
        lock (turn)
        {
            code = shown;
        }

        OnChanged();
        return shown;
    }

    /// <summary>The address that a device's camera is to open: with the code, so that nobody types it.</summary>
    public static Uri WithCode(Uri address, Pairing code) => new(address, NetworkGate.EntryPath + "?code=" + code.Code);

    /// <summary>Sends every device away at once, live screens too, and lets none in until a code is shown anew.</summary>
    public void Shut()
    {
        CancellationTokenSource[] leaving;
        lock (turn)
        {
            code = null;
            leaving = [.. devices.Values];
            devices.Clear();
        }

        foreach (CancellationTokenSource device in leaving)
        {
            device.Cancel();
            device.Dispose();
        }

        OnChanged();
    }

    /// <summary>Tries a code; a wrong one is answered late.</summary>
    /// <param name="typed">As typed: blanks and capitals do not matter.</param>
    /// <returns>How it ended, and the device's key where it is in.</returns>
    public async Task<(Entry How, string? Key)> EnterAsync(string typed, CancellationToken cancellation)
    {
        string clean = string.Concat(typed.Where(c => !char.IsWhiteSpace(c) && c != '-')).ToLowerInvariant();
        TimeSpan wait;
        string? key = null;
        lock (turn)
        {
            if (code is null || clean.Length == 0)
            {
                return (clean.Length == 0 ? Entry.WrongCode : Entry.NoCode, null);
            }

            (bool right, wait) = code.Try(clean);
            if (right)
            {
                // One code, one device: whoever read it over a shoulder comes too late.
                code = null;
                key = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(KeyBytes));
                devices.Add(Hash(key), new CancellationTokenSource());
            }
        }

        OnChanged();
        if (key is not null)
        {
            return (Entry.In, key);
        }

        await Task.Delay(wait, clock, cancellation).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        return (Code is null ? Entry.NoCode : Entry.WrongCode, null);
    }

    /// <summary>Whether a key is that of a device that is in.</summary>
    /// <param name="ended">Cancelled when it is sent away.</param>
    public bool Knows(string? key, out CancellationToken ended)
    {
        ended = default;
        if (string.IsNullOrEmpty(key) || key.Length > 4 * KeyBytes)
        {
            return false;
        }

        lock (turn)
        {
            // Looked up by its hash: how long the look-up takes tells nothing of a key.
            if (!devices.TryGetValue(Hash(key), out CancellationTokenSource? device))
            {
                return false;
            }

            ended = device.Token;
            return true;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => Shut();

    private static string Hash(string key) => Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(key)));

    private void OnChanged() => Changed?.Invoke(this, EventArgs.Empty);
}
