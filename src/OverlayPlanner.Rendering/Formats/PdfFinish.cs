using System.Buffers;
using System.Buffers.Binary;
using System.Globalization;
using System.IO.Compression;
using System.Security.Cryptography;
using System.Text;
using System.Text.RegularExpressions;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// Rewrites a PDF as PDFsharp saves it so that the same drawings give the same bytes, and so that strict readers find nothing
/// to complain of.
/// </summary>
/// <remarks>
/// PDFsharp 6.2 stamps the time, random identifiers and random font prefixes, and ends its zlib streams without their checksum
/// (RFC 1950, 2.2), which readers forgive and checkers report. Precondition: a classic cross-reference table and no encryption,
/// which is what PDFsharp writes.
/// </remarks>
internal static partial class PdfFinish
{
    // The trailer's last words, with room for whatever stands in it.
    private const int TailLength = 256;

    /// <summary>The same document, reproducible, with whole streams.</summary>
    public static byte[] Finish(byte[] pdf)
    {
        int table = int.Parse(
            TableStart()
                .Match(Encoding.Latin1.GetString(pdf.AsSpan(Math.Max(0, pdf.Length - TailLength))))
                .Groups[1]
                .Value,
            CultureInfo.InvariantCulture
        );
        string index = Encoding.Latin1.GetString(pdf.AsSpan(table));
        (int Number, int At)[] objects =
        [
            .. ObjectEntries()
                .Matches(index)
                .Select((m, i) => (Number: i, Entry: m))
                .Where(e => e.Entry.Groups[2].Value == "n")
                .Select(e => (e.Number, At: int.Parse(e.Entry.Groups[1].Value, CultureInfo.InvariantCulture)))
                .OrderBy(o => o.At),
        ];
        string trailer = index[index.IndexOf("trailer", StringComparison.Ordinal)..];
        Dictionary<string, string> prefixes = [];
        using MemoryStream body = new(pdf.Length + pdf.Length / 8);
        body.Write(pdf, 0, objects[0].At);
        int[] offsets = new int[objects.Max(o => o.Number) + 1];
        for (int i = 0; i < objects.Length; i++)
        {
            int end = i + 1 < objects.Length ? objects[i + 1].At : table;
            offsets[objects[i].Number] = (int)body.Length;
            Mend(pdf.AsSpan(objects[i].At..end), body, prefixes);
        }

        int newTable = (int)body.Length;
        StringBuilder entries = new();
        entries.Append(CultureInfo.InvariantCulture, $"xref\n0 {offsets.Length}\n0000000000 65535 f \n");
        for (int i = 1; i < offsets.Length; i++)
        {
            entries.Append(
                offsets[i] > 0
                    ? string.Create(CultureInfo.InvariantCulture, $"{offsets[i]:0000000000} 00000 n \n")
                    : "0000000000 00000 f \n"
            );
        }

        body.Write(Encoding.Latin1.GetBytes(entries.ToString()));
        string id = Convert.ToHexString(SHA256.HashData(body.GetBuffer().AsSpan(0, (int)body.Length)))[..32];
        trailer = Identifiers().Replace(trailer, $"/ID[<{id}><{id}>]");
        trailer = StartReference()
            .Replace(trailer, string.Create(CultureInfo.InvariantCulture, $"startxref\n{newTable}"));
        body.Write(Encoding.Latin1.GetBytes(trailer));
        return body.ToArray();
    }

    private static void Mend(ReadOnlySpan<byte> obj, MemoryStream to, Dictionary<string, string> prefixes)
    {
        int start = StartOfStream(obj);
        string head = Encoding.Latin1.GetString(start < 0 ? obj : obj[..start]);
        ReadOnlySpan<byte> rest = start < 0 ? [] : obj[start..];
        ReadOnlySpan<byte> missing = [];
        if (start >= 0 && head.Contains("/FlateDecode", StringComparison.Ordinal))
        {
            int length = int.Parse(LengthEntry().Match(head).Groups[1].Value, CultureInfo.InvariantCulture);
            missing = MissingChecksum(rest[..length]);
            if (missing.Length > 0)
            {
                head = LengthEntry()
                    .Replace(
                        head,
                        string.Create(CultureInfo.InvariantCulture, $"/Length {length + missing.Length}"),
                        1
                    );
                to.Write(Encoding.Latin1.GetBytes(WithoutChance(head, prefixes)));
                to.Write(rest[..length]);
                to.Write(missing);
                to.Write(rest[length..]);
                return;
            }
        }
        else if (start >= 0 && head.Contains("/Metadata", StringComparison.Ordinal))
        {
            // Metadata is plain text with times and identifiers of fixed length.
            string plain = XmpDates().Replace(Encoding.Latin1.GetString(rest), "2000-01-01T00:00:00");
            rest = Encoding.Latin1.GetBytes(Uuids().Replace(plain, m => Regex.Replace(m.Value, "[0-9a-fA-F]", "0")));
        }

        to.Write(Encoding.Latin1.GetBytes(WithoutChance(head, prefixes)));
        to.Write(rest);
    }

    // Behind the line end of the keyword "stream", which follows a dictionary's end; -1 where there is none.
    private static int StartOfStream(ReadOnlySpan<byte> obj)
    {
        for (int from = 0; obj[from..].IndexOf("stream"u8) is var found and >= 0; from += found + 1)
        {
            int at = from + found;
            int next = at + "stream".Length;
            if (
                obj[..at].TrimEnd("\r\n \t"u8).EndsWith(">>"u8)
                && (obj[next..].StartsWith("\n"u8) || obj[next..].StartsWith("\r\n"u8))
            )
            {
                return next + (obj[next] == (byte)'\r' ? 2 : 1);
            }
        }

        return -1;
    }

    private static string WithoutChance(string head, Dictionary<string, string> prefixes)
    {
        head = Dates().Replace(head, m => $"{m.Groups[1].Value}(D:20000101000000Z)");
        return FontPrefixes()
            .Replace(
                head,
                m =>
                {
                    if (!prefixes.TryGetValue(m.Groups[1].Value, out string? prefix))
                    {
                        prefix = "OVERL" + (char)('A' + prefixes.Count % 26);
                        prefixes[m.Groups[1].Value] = prefix;
                    }

                    return $"/{prefix}+";
                }
            );
    }

    // The checksum where a zlib stream lacks it, nothing where it is there.
    private static byte[] MissingChecksum(ReadOnlySpan<byte> zlib)
    {
        using MemoryStream packed = new(zlib[2..].ToArray());
        using DeflateStream inflate = new(packed, CompressionMode.Decompress);
        byte[] plain = ArrayPool<byte>.Shared.Rent(1 << 16);
        uint sum = 1;
        while (inflate.Read(plain) is var read and > 0)
        {
            sum = Adler32(plain.AsSpan(0, read), sum);
        }

        ArrayPool<byte>.Shared.Return(plain);
        if (zlib.Length >= 6 && BinaryPrimitives.ReadUInt32BigEndian(zlib[^4..]) == sum)
        {
            return [];
        }

        byte[] tail = new byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(tail, sum);
        return tail;
    }

    private static uint Adler32(ReadOnlySpan<byte> data, uint before)
    {
        // The most bytes after which neither sum has left 32 bits (zlib's NMAX).
        const int Safe = 5_552;
        uint a = before & 0xFFFF;
        uint b = before >> 16;
        while (data.Length > 0)
        {
            int n = Math.Min(Safe, data.Length);
            foreach (byte d in data[..n])
            {
                a += d;
                b += a;
            }

            a %= 65_521;
            b %= 65_521;
            data = data[n..];
        }

        return (b << 16) | a;
    }

    [GeneratedRegex(@"startxref\s+(\d+)\s+%%EOF\s*$")]
    private static partial Regex TableStart();

    [GeneratedRegex(@"startxref\s+\d+")]
    private static partial Regex StartReference();

    [GeneratedRegex(@"(\d{10}) \d{5} ([nf])")]
    private static partial Regex ObjectEntries();

    [GeneratedRegex(@"/Length\s+(\d+)")]
    private static partial Regex LengthEntry();

    [GeneratedRegex(@"(/(?:Creation|Mod)Date)\s*\([^)]*\)")]
    private static partial Regex Dates();

    [GeneratedRegex(@"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d")]
    private static partial Regex XmpDates();

    [GeneratedRegex(@"/([A-Z]{6})\+")]
    private static partial Regex FontPrefixes();

    [GeneratedRegex(@"/ID\s*\[\s*<[^>]*>\s*<[^>]*>\s*\]")]
    private static partial Regex Identifiers();

    [GeneratedRegex(@"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", RegexOptions.IgnoreCase)]
    private static partial Regex Uuids();
}
