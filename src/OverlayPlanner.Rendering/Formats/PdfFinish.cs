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
    /// <summary>The same document, reproducible, with whole streams.</summary>
    public static byte[] Finish(byte[] pdf)
    {
        string text = Encoding.Latin1.GetString(pdf);
        int table = int.Parse(TableStart().Match(text).Groups[1].Value, CultureInfo.InvariantCulture);
        string header = text[..FirstObject().Match(text).Index];
        (int Number, int At)[] objects =
        [
            .. ObjectEntries()
                .Matches(text[table..])
                .Select((m, i) => (Number: i, Entry: m))
                .Where(e => e.Entry.Groups[2].Value == "n")
                .Select(e => (e.Number, int.Parse(e.Entry.Groups[1].Value, CultureInfo.InvariantCulture))),
        ];
        string trailer = text[text.IndexOf("trailer", table, StringComparison.Ordinal)..];
        int[] ends = [.. objects.Select(o => o.At).Order().Skip(1), table];
        int[] starts = [.. objects.Select(o => o.At).Order()];
        Dictionary<string, string> prefixes = [];
        StringBuilder body = new(header);
        int[] offsets = new int[objects.Max(o => o.Number) + 1];
        foreach ((int number, int at) in objects.OrderBy(o => o.At))
        {
            int end = ends[Array.BinarySearch(starts, at)];
            offsets[number] = body.Length;
            body.Append(Mended(text[at..end], prefixes));
        }

        int newTable = body.Length;
        body.Append(CultureInfo.InvariantCulture, $"xref\n0 {offsets.Length}\n0000000000 65535 f \n");
        for (int i = 1; i < offsets.Length; i++)
        {
            body.Append(
                offsets[i] > 0
                    ? string.Create(CultureInfo.InvariantCulture, $"{offsets[i]:0000000000} 00000 n \n")
                    : "0000000000 00000 f \n"
            );
        }

        string id = Convert.ToHexString(SHA256.HashData(Encoding.Latin1.GetBytes(body.ToString())))[..32];
        trailer = Identifiers().Replace(trailer, $"/ID[<{id}><{id}>]");
        trailer = StartReference()
            .Replace(trailer, string.Create(CultureInfo.InvariantCulture, $"startxref\n{newTable}"));
        return Encoding.Latin1.GetBytes(body.Append(trailer).ToString());
    }

    private static string Mended(string obj, Dictionary<string, string> prefixes)
    {
        Match stream = StreamStart().Match(obj);
        string head = stream.Success ? obj[..stream.Index] : obj;
        string rest = stream.Success ? obj[stream.Index..] : "";
        if (stream.Success && head.Contains("/FlateDecode", StringComparison.Ordinal))
        {
            int length = int.Parse(LengthEntry().Match(head).Groups[1].Value, CultureInfo.InvariantCulture);
            int from = stream.Length;
            string whole = WithChecksum(rest.Substring(from, length));
            rest = rest[..from] + whole + rest[(from + length)..];
            head = LengthEntry()
                .Replace(head, string.Create(CultureInfo.InvariantCulture, $"/Length {whole.Length}"), 1);
        }
        else if (stream.Success && head.Contains("/Metadata", StringComparison.Ordinal))
        {
            // Metadata is plain text with times and identifiers of fixed length.
            rest = XmpDates().Replace(rest, "2000-01-01T00:00:00");
            rest = Uuids().Replace(rest, m => Regex.Replace(m.Value, "[0-9a-fA-F]", "0"));
        }

        head = Dates().Replace(head, m => $"{m.Groups[1].Value}(D:20000101000000Z)");
        head = FontPrefixes()
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
        return head + rest;
    }

    private static string WithChecksum(string zlib)
    {
        byte[] bytes = Encoding.Latin1.GetBytes(zlib);
        using MemoryStream packed = new(bytes, 2, bytes.Length - 2);
        using DeflateStream inflate = new(packed, CompressionMode.Decompress);
        using MemoryStream plain = new();
        inflate.CopyTo(plain);
        uint sum = Adler32(plain.GetBuffer().AsSpan(0, (int)plain.Length));
        if (bytes.Length >= 6 && BinaryPrimitives.ReadUInt32BigEndian(bytes.AsSpan(bytes.Length - 4)) == sum)
        {
            return zlib;
        }

        byte[] tail = new byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(tail, sum);
        return zlib + Encoding.Latin1.GetString(tail);
    }

    private static uint Adler32(ReadOnlySpan<byte> data)
    {
        uint a = 1;
        uint b = 0;
        foreach (byte d in data)
        {
            a = (a + d) % 65_521;
            b = (b + a) % 65_521;
        }

        return (b << 16) | a;
    }

    [GeneratedRegex(@"startxref\s+(\d+)\s+%%EOF\s*$")]
    private static partial Regex TableStart();

    [GeneratedRegex(@"startxref\s+\d+")]
    private static partial Regex StartReference();

    [GeneratedRegex(@"^\d+ 0 obj", RegexOptions.Multiline)]
    private static partial Regex FirstObject();

    [GeneratedRegex(@"(\d{10}) \d{5} ([nf])")]
    private static partial Regex ObjectEntries();

    [GeneratedRegex(@"(?<=>>\s*)stream\r?\n")]
    private static partial Regex StreamStart();

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
