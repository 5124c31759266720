using System.Buffers.Text;
using System.IO.Compression;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// The operators of a page's lines and fills (ISO 32000-1, 8.5), numbers to 1e-5, packed as a zlib stream. Touches nothing that
/// is shared, so that pages can be written side by side.
/// </summary>
internal sealed class PdfOperators
{
    private const int Decimals = 5;
    private const double Scale = 100_000;

    // Beyond this a scaled number no longer fits the digits that a double holds.
    private const double LargestScaled = 1e9;
    private byte[] bytes = new byte[4_096];
    private int length;

    /// <summary>Writes operators as they stand.</summary>
    /// <param name="ascii">Of ASCII characters alone.</param>
    public PdfOperators Add(string ascii)
    {
        Room(ascii.Length);
        length += Encoding.ASCII.GetBytes(ascii, bytes.AsSpan(length));
        return this;
    }

    /// <summary>Writes a number, rounded to 1e-5, and a space.</summary>
    public PdfOperators Add(double value)
    {
        Room(40);
        double scaled = Math.Round(value * Scale);
        if (Math.Abs(scaled) > LargestScaled * Scale || double.IsNaN(scaled))
        {
            throw new ArgumentOutOfRangeException(nameof(value), value, "No page is so large.");
        }

        long rest = (long)scaled;
        if (rest < 0)
        {
            bytes[length++] = (byte)'-';
            rest = -rest;
        }

        (long whole, long fraction) = Math.DivRem(rest, (long)Scale);
        Utf8Formatter.TryFormat(whole, bytes.AsSpan(length), out int written);
        length += written;
        if (fraction != 0)
        {
            bytes[length++] = (byte)'.';
            int digits = Decimals;
            for (; fraction % 10 == 0; fraction /= 10)
            {
                digits--;
            }

            for (int i = digits - 1; i >= 0; i--, fraction /= 10)
            {
                bytes[length + i] = (byte)('0' + fraction % 10);
            }

            length += digits;
        }

        bytes[length++] = (byte)' ';
        return this;
    }

    /// <summary>Writes the strokes and fills among the items, the lowest first.</summary>
    /// <param name="height">Of the page, points: a PDF's y runs upward.</param>
    public PdfOperators AddLines(IEnumerable<DrawnItem> items, double height)
    {
        foreach (DrawnItem item in items)
        {
            if (item is Stroke stroke)
            {
                Add("q\n").Add(stroke.Ink).Add("RG ").Add(stroke.Width).Add("w ");
                Add(stroke.RoundEnds ? "1 J 1 j " : "0 J 0 j ");
                if (stroke.Dash is { Count: > 0 } dash)
                {
                    Add("[");
                    foreach (double d in dash)
                    {
                        Add(d);
                    }

                    Add("] 0 d ");
                }

                Add("\n").AddPath(stroke.Path, height);
                Add("S\nQ\n");
            }
            else if (item is Fill fill)
            {
                Add("q\n").Add(fill.Ink).Add("rg\n").AddPath(fill.Path, height);
                Add("f\nQ\n");
            }
        }

        return this;
    }

    /// <summary>What was written, as a whole zlib stream (RFC 1950) for the filter FlateDecode.</summary>
    public byte[] Packed()
    {
        using MemoryStream packed = new(length / 2);
        using (ZLibStream zlib = new(packed, CompressionLevel.Optimal, leaveOpen: true))
        {
            zlib.Write(bytes, 0, length);
        }

        return packed.ToArray();
    }

    private PdfOperators Add(Ink ink) => Add(ink.Red / 255.0).Add(ink.Green / 255.0).Add(ink.Blue / 255.0);

    private void AddPath(IReadOnlyList<Edge<PageSpace>> path, double height)
    {
        Point<PageSpace> start = default;
        Point<PageSpace> pen = new(double.NaN, double.NaN);
        for (int i = 0; i < path.Count; i++)
        {
            Edge<PageSpace> e = path[i];
            if (e.From != pen)
            {
                start = e.From;
                At(e.From).Add("m\n");
            }

            bool closes = e.IsLine && e.To == start && (i + 1 == path.Count || path[i + 1].From != e.To);
            if (closes)
            {
                Add("h\n");
            }
            else if (e.IsLine)
            {
                At(e.To).Add("l\n");
            }
            else
            {
                foreach ((Point<PageSpace> c1, Point<PageSpace> c2, Point<PageSpace> end) in PdfFormat.Curve(e))
                {
                    At(c1);
                    At(c2);
                    At(end).Add("c\n");
                }
            }

            pen = closes ? new(double.NaN, double.NaN) : e.To;
        }

        PdfOperators At(Point<PageSpace> p) => Add(p.X).Add(height - p.Y);
    }

    private void Room(int more)
    {
        if (length + more > bytes.Length)
        {
            Array.Resize(ref bytes, Math.Max(2 * bytes.Length, length + more));
        }
    }
}
