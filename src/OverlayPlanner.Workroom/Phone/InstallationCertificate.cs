using System.Net;
using System.Runtime.Versioning;
using System.Security.AccessControl;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Security.Principal;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>
/// The certificate by which this installation is known on the local network: made here, signed by itself, kept beside the quilts
/// where only their owner reads it. It is kept as long as it can be, so that a phone that was shown it once warns no more.
/// </summary>
internal static class InstallationCertificate
{
    /// <summary>Folder in the quilts' root; its leading dot keeps it off the shelf.</summary>
    public const string Folder = ".phone";

    /// <summary>Name of the file in that folder, PKCS #12 without a password: the file's rights guard it.</summary>
    public const string File = "certificate.pfx";

    // Phones accept no server certificate of more than 398 days (Apple, "About upcoming limits on trusted certificates", 2020).
    private const int MostDays = 398;
    private const string ServerUse = "1.3.6.1.5.5.7.3.1";

    /// <summary>The kept certificate, or a new one where there is none that still fits these addresses.</summary>
    /// <param name="root">The quilts' root.</param>
    /// <exception cref="InputException">A new one can't be kept.</exception>
    public static X509Certificate2 Open(string root, OwnAddresses addresses, TimeProvider clock)
    {
        string path = Path.Combine(root, Folder, File);
        DateTimeOffset now = clock.GetUtcNow();
        if (TryRead(path) is { } kept)
        {
            if (Fits(kept, addresses, now))
            {
                return kept;
            }

            kept.Dispose();
        }

        byte[] made = Make(addresses, now);
        try
        {
            Keep(path, made);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                "The certificate for the phone can't be kept",
                path,
                "Check the folder's rights and the space on the disk.",
                e
            );
        }

        return X509CertificateLoader.LoadPkcs12(made, null);
    }

    /// <summary>The SHA-256 fingerprint as phones show it: 32 pairs of hexadecimal digits.</summary>
    public static string FingerprintOf(X509Certificate2 certificate) =>
        string.Join(' ', certificate.GetCertHash(HashAlgorithmName.SHA256).Select(b => b.ToString("X2", null)));

    private static X509Certificate2? TryRead(string path)
    {
        try
        {
            return System.IO.File.Exists(path) ? X509CertificateLoader.LoadPkcs12FromFile(path, null) : null;
        }
        catch (Exception e) when (e is CryptographicException or IOException or UnauthorizedAccessException)
        {
            // One that can't be read is made anew; nothing but a phone's memory of it is lost.
            return null;
        }
    }

    private static bool Fits(X509Certificate2 certificate, OwnAddresses addresses, DateTimeOffset now)
    {
        X509SubjectAlternativeNameExtension? names = certificate
            .Extensions.OfType<X509SubjectAlternativeNameExtension>()
            .FirstOrDefault();
        return names is not null
            && certificate.HasPrivateKey
            && certificate.NotBefore <= now.LocalDateTime
            && certificate.NotAfter > now.LocalDateTime.AddDays(1)
            && names.EnumerateIPAddresses().ToHashSet().SetEquals(addresses.All)
            && names.EnumerateDnsNames().ToHashSet(StringComparer.OrdinalIgnoreCase).SetEquals(NamesOf(addresses));
    }

    private static byte[] Make(OwnAddresses addresses, DateTimeOffset now)
    {
        using ECDsa key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        CertificateRequest request = new("CN=OverlayPlanner workroom", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(false, false, 0, critical: true));
        request.CertificateExtensions.Add(
            new X509KeyUsageExtension(X509KeyUsageFlags.DigitalSignature, critical: true)
        );
        request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([new Oid(ServerUse)], critical: false));
        SubjectAlternativeNameBuilder names = new();
        foreach (string name in NamesOf(addresses))
        {
            names.AddDnsName(name);
        }

        foreach (IPAddress address in addresses.All)
        {
            names.AddIpAddress(address);
        }

        request.CertificateExtensions.Add(names.Build());

        // From yesterday: a phone's clock may be behind.
        DateTimeOffset from = now.AddDays(-1);
        using X509Certificate2 certificate = request.CreateSelfSigned(from, from.AddDays(MostDays - 1));
        return certificate.ExportPkcs12(Pkcs12ExportPbeParameters.Pbes2Aes256Sha256, null);
    }

    // A certificate names something; where the machine has no name that can stand there, phones go by its addresses.
    private static IReadOnlyList<string> NamesOf(OwnAddresses addresses) =>
        addresses.Names.Count > 0 ? addresses.Names : ["localhost"];

    private static void Keep(string path, byte[] bytes)
    {
        string folder = Path.GetDirectoryName(path)!;
        if (OperatingSystem.IsWindows())
        {
            OwnOnWindows(Directory.CreateDirectory(folder));
        }
        else
        {
            const UnixFileMode own = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;
            Directory.CreateDirectory(folder, own);
            System.IO.File.SetUnixFileMode(folder, own);
        }

        // Written aside and moved: a file half written is never found, and is never readable by others, not for a moment.
        string aside = path + "." + Guid.NewGuid().ToString("N");
        FileStreamOptions options = new() { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        try
        {
            using (FileStream stream = new(aside, options))
            {
                stream.Write(bytes);
            }

            System.IO.File.Move(aside, path, overwrite: true);
        }
        finally
        {
            System.IO.File.Delete(aside);
        }
    }

    [SupportedOSPlatform("windows")]
    private static void OwnOnWindows(DirectoryInfo folder)
    {
        using WindowsIdentity self = WindowsIdentity.GetCurrent();
        DirectorySecurity rights = new();
        rights.SetAccessRuleProtection(isProtected: true, preserveInheritance: false);
        rights.AddAccessRule(
            new FileSystemAccessRule(
                self.User!,
                FileSystemRights.FullControl,
                InheritanceFlags.ContainerInherit | InheritanceFlags.ObjectInherit,
                PropagationFlags.None,
                AccessControlType.Allow
            )
        );
        folder.SetAccessControl(rights);
    }
}
