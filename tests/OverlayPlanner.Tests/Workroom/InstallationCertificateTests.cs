using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using OverlayPlanner.Workroom.Phone;

namespace OverlayPlanner.Tests.Workroom;

public sealed class InstallationCertificateTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-certificate-").FullName;
    private readonly HandClock clock = new();

    private string Path => System.IO.Path.Combine(root, InstallationCertificate.Folder, InstallationCertificate.File);

    public void Dispose() => Directory.Delete(root, recursive: true);

    [Fact]
    public void It_names_the_machine_and_all_its_addresses_serves_and_lives_no_longer_than_phones_accept()
    {
        using X509Certificate2 certificate = Open("192.168.1.20", "10.0.0.7", "2001:db8::7");
        X509SubjectAlternativeNameExtension names = certificate
            .Extensions.OfType<X509SubjectAlternativeNameExtension>()
            .Single();
        Assert.Equal(
            ["10.0.0.7", "192.168.1.20", "2001:db8::7"],
            names.EnumerateIPAddresses().Select(a => a.ToString()).Order(StringComparer.Ordinal)
        );
        Assert.Equal(["frame", "frame.local"], names.EnumerateDnsNames().Order(StringComparer.Ordinal));
        Assert.True(certificate.MatchesHostname("192.168.1.20"));
        Assert.False(certificate.MatchesHostname("192.168.1.21"));

        // RFC 5280, 4.2.1.12: id-kp-serverAuth.
        Assert.Equal(
            ["1.3.6.1.5.5.7.3.1"],
            certificate
                .Extensions.OfType<X509EnhancedKeyUsageExtension>()
                .Single()
                .EnhancedKeyUsages.Cast<Oid>()
                .Select(u => u.Value!)
        );

        // Apple, "About upcoming limits on trusted certificates" (2020).
        Assert.True(certificate.NotAfter - certificate.NotBefore <= TimeSpan.FromDays(398));
        using ECDsa key = certificate.GetECDsaPrivateKey()!;
        Assert.Equal(256, key.KeySize);
    }

    [Fact]
    public void It_is_kept_while_it_fits()
    {
        using X509Certificate2 first = Open("192.168.1.20", "10.0.0.7");
        clock.Turn(TimeSpan.FromDays(300));
        using X509Certificate2 second = Open("192.168.1.20", "10.0.0.7");
        Assert.Equal(first.Thumbprint, second.Thumbprint);
        Assert.True(second.HasPrivateKey);
    }

    [Fact]
    public void It_is_remade_when_an_address_comes_or_goes()
    {
        using X509Certificate2 first = Open("192.168.1.20");
        using X509Certificate2 more = Open("192.168.1.20", "10.0.0.7");
        using X509Certificate2 less = Open("10.0.0.7");
        Assert.Equal(3, new[] { first.Thumbprint, more.Thumbprint, less.Thumbprint }.Distinct().Count());
        Assert.True(less.MatchesHostname("10.0.0.7"));
        Assert.False(less.MatchesHostname("192.168.1.20"));
    }

    [Fact]
    public void It_is_remade_when_it_runs_out()
    {
        using X509Certificate2 first = Open("192.168.1.20");
        clock.Turn(TimeSpan.FromDays(398));
        using X509Certificate2 second = Open("192.168.1.20");
        Assert.NotEqual(first.Thumbprint, second.Thumbprint);
        Assert.True(second.NotAfter > clock.GetUtcNow().LocalDateTime.AddDays(300));
    }

    [Fact]
    public void It_is_remade_when_it_cannot_be_read()
    {
        using X509Certificate2 first = Open("192.168.1.20");
        File.WriteAllBytes(Path, [1, 2, 3]);
        using X509Certificate2 second = Open("192.168.1.20");
        Assert.NotEqual(first.Thumbprint, second.Thumbprint);
        using X509Certificate2 third = Open("192.168.1.20");
        Assert.Equal(second.Thumbprint, third.Thumbprint);
    }

    [Fact]
    public void Only_its_owner_can_read_it()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Rights are said otherwise there.");
        using X509Certificate2 certificate = Open("192.168.1.20");
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(Path));
            Assert.Equal(
                UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute,
                File.GetUnixFileMode(System.IO.Path.GetDirectoryName(Path)!)
            );
        }

        Assert.Equal([Path], Directory.EnumerateFiles(System.IO.Path.GetDirectoryName(Path)!));
    }

    [Fact]
    public void Its_fingerprint_is_the_SHA_256_of_the_whole_in_pairs()
    {
        using X509Certificate2 certificate = Open("192.168.1.20");
        string[] pairs = InstallationCertificate.FingerprintOf(certificate).Split(' ');
        Assert.Equal(32, pairs.Length);
        Assert.Equal(Convert.ToHexString(SHA256.HashData(certificate.RawData)), string.Concat(pairs));
    }

    private X509Certificate2 Open(params string[] addresses) =>
        InstallationCertificate.Open(root, new("frame", [.. addresses.Select(IPAddress.Parse)], []), clock);
}
