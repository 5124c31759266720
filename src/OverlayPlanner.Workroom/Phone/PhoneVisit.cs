using System.Net;
using System.Security.Cryptography.X509Certificates;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workroom.Log;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>How far a visit from a phone has come.</summary>
internal enum PhoneVisitState
{
    /// <summary>The phone's page can be opened.</summary>
    Open,

    /// <summary>A photo is coming in.</summary>
    Receiving,

    /// <summary>A photo came and is kept. Over.</summary>
    Arrived,

    /// <summary>The code's time is over.</summary>
    RanOut,

    /// <summary>Too many wrong codes came. Over.</summary>
    TooManyTries,

    /// <summary>It was closed at the desk. Over.</summary>
    Closed,
}

/// <summary>
/// One opening of the machine to the local network, for one photo: an HTTPS server of its own with one page, which whoever has the
/// code may see and send. Everyone else, and every other path, gets an empty 404. It is gone when the visit is over.
/// </summary>
internal sealed class PhoneVisit : IAsyncDisposable
{
    /// <summary>The one path that is served.</summary>
    public const string Path = "/send";

    // A handful of phones at most; a crowd of idle connections must not use up this machine.
    private const int MostConnections = 32;

    // A photo of 15 MB over a Wi-Fi at its edge; one from which nothing comes any more is given up long before.
    private static readonly TimeSpan MostFinishing = TimeSpan.FromMinutes(15);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(45);
    private static readonly TimeSpan MostIdle = TimeSpan.FromSeconds(20);

    private readonly Lock turn = new();
    private readonly QuiltStore store;
    private readonly HeavyWork work;
    private readonly TimeProvider clock;
    private readonly RoomLog log;
    private readonly string? quilt;
    private readonly Pairing pairing;
    private readonly X509Certificate2 certificate;
    private readonly WebApplication server;
    private readonly CancellationTokenSource closed = new();
    private ITimer? timer;
    private Task? stopped;
    private bool left;

    private PhoneVisit(
        QuiltStore store,
        HeavyWork work,
        TimeProvider clock,
        RoomLog log,
        string? quilt,
        X509Certificate2 certificate
    )
    {
        this.store = store;
        this.work = work;
        this.clock = clock;
        this.log = log;
        this.quilt = quilt;
        this.certificate = certificate;
        pairing = new(clock);
        Fingerprint = InstallationCertificate.FingerprintOf(certificate);

        // Empty: no settings file and no variable of the environment opens another port or another path.
        WebApplicationBuilder builder = WebApplication.CreateEmptyBuilder(
            new WebApplicationOptions { ContentRootPath = AppContext.BaseDirectory }
        );
        builder.WebHost.UseKestrelCore().UseKestrelHttpsConfiguration();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.ListenAnyIP(
                0,
                listen =>
                {
                    listen.Protocols = HttpProtocols.Http1;
                    listen.UseHttps(certificate);
                }
            );
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = PhotoUpload.MostBytes + 65_536;
            kestrel.Limits.MaxConcurrentConnections = MostConnections;

            // Whoever only holds connections open must give them back soon, so that the phone gets its turn.
            kestrel.Limits.KeepAliveTimeout = MostIdle;
            kestrel.Limits.RequestHeadersTimeout = MostIdle;
        });
        builder.Services.Configure<HostOptions>(o => o.ShutdownTimeout = MostFinishing);
        server = builder.Build();
        server.Run(AnswerWithFaultsAsync);
    }

    /// <summary>Raised, on any thread, when <see cref="State"/> has changed.</summary>
    public event EventHandler? Changed;

    public PhoneVisitState State { get; private set; }

    public bool Over => State is not (PhoneVisitState.Open or PhoneVisitState.Receiving);

    /// <summary>Id of the quilt that has the photo, once it arrived.</summary>
    public string? Quilt { get; private set; }

    /// <summary>Addresses of the phone's page with the code, the most likely first; at least one.</summary>
    public IReadOnlyList<Uri> Pages { get; private set; } = [];

    /// <summary>The certificate's fingerprint.</summary>
    public string Fingerprint { get; }

    public TimeSpan Left => pairing.Left;

    /// <summary>Opens the machine for a photo.</summary>
    /// <param name="quilt">Id of the quilt that is to have it; null for a new one.</param>
    /// <exception cref="InputException">This machine is on no network, or can't listen there.</exception>
    public static async Task<PhoneVisit> OpenAsync(
        QuiltStore store,
        HeavyWork work,
        TimeProvider clock,
        RoomLog log,
        string? quilt
    )
    {
        OwnAddresses addresses = OwnAddresses.Find();
        if (addresses.Likely.Count == 0)
        {
            throw new InputException(
                "This machine is on no network that a phone could reach",
                "the network",
                "Join the Wi-Fi that the phone is on, then press the button again."
            );
        }

        PhoneVisit visit = new(
            store,
            work,
            clock,
            log,
            quilt,
            InstallationCertificate.Open(store.Root, addresses, clock)
        );
        try
        {
            await visit.server.StartAsync();
        }
        catch (Exception e) when (e is IOException or System.Net.Sockets.SocketException)
        {
            await visit.StopAsync(atOnce: true);
            throw new InputException(
                "This machine can't be reached from its network",
                "the network",
                "Allow the program in this machine's firewall, for private networks, then press the button again.",
                e
            );
        }

        int port = BindingAddress
            .Parse(
                visit
                    .server.Services.GetRequiredService<IServer>()
                    .Features.Get<IServerAddressesFeature>()!
                    .Addresses.First()
            )
            .Port;
        visit.Pages =
        [
            .. addresses.Likely.Select(a =>
                new UriBuilder(Uri.UriSchemeHttps, a.ToString(), port, Path, "?code=" + visit.pairing.Code).Uri
            ),
        ];
        visit.timer = clock.CreateTimer(_ => visit.EndIfOver(), null, visit.Left, Timeout.InfiniteTimeSpan);
        return visit;
    }

    /// <summary>Ends the visit: nobody else comes in. A photo that is coming comes to its end and is kept.</summary>
    public void Leave()
    {
        lock (turn)
        {
            if (State == PhoneVisitState.Receiving)
            {
                left = true;
                stopped ??= Task.Run(() => StopAsync(atOnce: false));
                return;
            }
        }

        End(PhoneVisitState.Closed);
    }

    /// <summary>Ends the visit at once; what is half sent is dropped.</summary>
    public void Close()
    {
        closed.Cancel();
        End(PhoneVisitState.Closed);
    }

    /// <summary>Ends the visit and waits until nothing listens any more.</summary>
    public async ValueTask DisposeAsync()
    {
        if (!Over)
        {
            Close();
        }

        await (stopped ?? Task.CompletedTask);
    }

    private async Task AnswerWithFaultsAsync(HttpContext context)
    {
        try
        {
            await AnswerAsync(context);
        }
        catch (Exception) when (context.RequestAborted.IsCancellationRequested || closed.IsCancellationRequested)
        {
            // The phone went away, or the desk did not wait.
            context.Abort();
        }
        catch (Exception e)
        {
            await FaultAnswers.AnswerAsync(context, log.Fault("the phone's page", e));
        }
    }

    private async Task AnswerAsync(HttpContext context)
    {
        HttpRequest request = context.Request;
        HttpResponse response = context.Response;
        response.Headers.CacheControl = "no-store";
        response.Headers.XContentTypeOptions = "nosniff";
        response.Headers["Referrer-Policy"] = "no-referrer";
        bool post = HttpMethods.IsPost(request.Method);
        if (
            !string.Equals(request.Path.Value, Path, StringComparison.Ordinal)
            || !(post || HttpMethods.IsGet(request.Method))
        )
        {
            Nothing(response);
            return;
        }

        (bool right, TimeSpan wait) = pairing.Try(request.Query["code"].ToString());
        if (!right)
        {
            EndIfOver();
            await Task.Delay(wait, clock, context.RequestAborted)
                .ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            Nothing(response);
            return;
        }

        await (post ? ReceiveAsync(context) : PhonePage.AskAsync(context, null, StatusCodes.Status200OK));
    }

    // One answer for all that is not let in, and the connection with it: a body that nobody asked for is not read.
    private static void Nothing(HttpResponse response)
    {
        response.StatusCode = StatusCodes.Status404NotFound;
        response.Headers.Connection = "close";
    }

    private async Task ReceiveAsync(HttpContext context)
    {
        if (!BeginToReceive())
        {
            await PhonePage.AskAsync(
                context,
                "Another photo is coming in already. Look at the big screen before you send one more.",
                StatusCodes.Status409Conflict
            );
            return;
        }

        KeptQuilt kept;
        context.Request.Body = new PatientStream(context.Request.Body, Patience);
        try
        {
            kept = await PhotoUpload.ReceiveAsync(
                context,
                store,
                work,
                quilt,
                quilt is null ? NewName() : null,
                closed.Token
            );
        }
        catch (TimeoutException)
        {
            Reopen();
            context.Abort();
            return;
        }
        catch (InputException e)
        {
            Reopen();
            await PhonePage.AskAsync(context, $"{e.What}. {e.Remedy}", StatusCodes.Status400BadRequest);
            return;
        }
        catch
        {
            // The phone went away, or the desk closed the visit.
            Reopen();
            throw;
        }

        Quilt = kept.Id;
        End(PhoneVisitState.Arrived);
        await PhonePage.ThankAsync(context);
    }

    // Phones name every photo alike, or by a long number; the day tells the quilter more.
    private string NewName() =>
        "Phone photo of " + clock.GetLocalNow().ToString("d MMMM", System.Globalization.CultureInfo.InvariantCulture);

    private bool BeginToReceive()
    {
        lock (turn)
        {
            if (State != PhoneVisitState.Open)
            {
                return false;
            }

            State = PhoneVisitState.Receiving;
        }

        Changed?.Invoke(this, EventArgs.Empty);
        return true;
    }

    // What came was no photo: the code is good for another, unless its time is over or the desk has left.
    private void Reopen()
    {
        bool over;
        lock (turn)
        {
            over = left;
            if (!left && State == PhoneVisitState.Receiving)
            {
                State = PhoneVisitState.Open;
            }
        }

        if (over)
        {
            End(PhoneVisitState.Closed);
            return;
        }

        Changed?.Invoke(this, EventArgs.Empty);
        EndIfOver();
    }

    // A photo that began to come in time may come to its end.
    private void EndIfOver()
    {
        if (pairing.Over && State != PhoneVisitState.Receiving)
        {
            End(pairing.GuessedTooOften ? PhoneVisitState.TooManyTries : PhoneVisitState.RanOut);
        }
    }

    private void End(PhoneVisitState how)
    {
        lock (turn)
        {
            if (Over)
            {
                return;
            }

            State = how;
            stopped ??= Task.Run(() => StopAsync(atOnce: how == PhoneVisitState.Closed));
        }

        Changed?.Invoke(this, EventArgs.Empty);
    }

    // New connections are refused at once; answers under way are finished unless the desk closed the visit.
    private async Task StopAsync(bool atOnce)
    {
        if (timer is not null)
        {
            await timer.DisposeAsync();
        }

        if (atOnce)
        {
            await closed.CancelAsync();
        }

        try
        {
            await server.StopAsync(new CancellationToken(atOnce));
        }
        catch (OperationCanceledException)
        {
            // It was not to wait.
        }

        await server.DisposeAsync();
        certificate.Dispose();
    }
}
