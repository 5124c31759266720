using System.Runtime.InteropServices;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;
using SkiaSharp;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>Writes a drawing as an anti-aliased 8-bit PNG through Skia's own rasteriser; the same bytes on every run.</summary>
internal static class PngFormat
{
    /// <summary>The PNG.</summary>
    /// <param name="pixelsPerPoint">Scale; 1 for a picture whose points are pixels.</param>
    /// <param name="ground">The colour under everything.</param>
    public static byte[] Write(Drawing.Drawing drawing, double pixelsPerPoint, Ink ground)
    {
        using SKBitmap bitmap = Paint(drawing, pixelsPerPoint, ground);
        using SKImage image = SKImage.FromBitmap(bitmap);
        using SKData data = image.Encode(SKEncodedImageFormat.Png, 100);
        return data.ToArray();
    }

    /// <summary>The same picture's pixels, row by row: red, green, blue and an alpha of 255.</summary>
    /// <returns>Pixels across and down, and four bytes for each.</returns>
    public static (int Width, int Height, byte[] Rgba) Pixels(
        Drawing.Drawing drawing,
        double pixelsPerPoint,
        Ink ground
    )
    {
        using SKBitmap bitmap = Paint(drawing, pixelsPerPoint, ground);
        return (bitmap.Width, bitmap.Height, bitmap.Bytes);
    }

    private static SKBitmap Paint(Drawing.Drawing drawing, double pixelsPerPoint, Ink ground)
    {
        int width = Math.Max(1, (int)Math.Round(drawing.Width * pixelsPerPoint));
        int height = Math.Max(1, (int)Math.Round(drawing.Height * pixelsPerPoint));
        SKBitmap bitmap = new(new SKImageInfo(width, height, SKColorType.Rgba8888, SKAlphaType.Opaque));
        using SKCanvas canvas = new(bitmap);
        canvas.Clear(ColorOf(ground));
        canvas.Scale((float)pixelsPerPoint);
        foreach (DrawnItem item in drawing.Items.OrderBy(i => i.Layer))
        {
            Draw(canvas, item);
        }

        return bitmap;
    }

    private static void Draw(SKCanvas canvas, DrawnItem item)
    {
        switch (item)
        {
            case Stroke stroke:
            {
                using SKPaint paint = PaintOf(stroke.Ink);
                paint.Style = SKPaintStyle.Stroke;
                paint.StrokeWidth = (float)stroke.Width;
                paint.StrokeCap = stroke.RoundEnds ? SKStrokeCap.Round : SKStrokeCap.Butt;
                paint.StrokeJoin = stroke.RoundEnds ? SKStrokeJoin.Round : SKStrokeJoin.Miter;
                using SKPathEffect? dash = stroke.Dash is { Count: > 0 } d
                    ? SKPathEffect.CreateDash([.. d.Select(v => (float)v)], 0)
                    : null;
                paint.PathEffect = dash;
                using SKPath path = PathOf(stroke.Path);
                canvas.DrawPath(path, paint);
                break;
            }

            case Fill fill:
            {
                using SKPaint paint = PaintOf(fill.Ink);
                using SKPath path = PathOf(fill.Path);
                canvas.DrawPath(path, paint);
                break;
            }

            case Words words:
            {
                using SKPaint paint = PaintOf(words.Ink);
                using SKFont font = new(Typeface.SkiaOf(words.Weight), (float)words.Size)
                {
                    Hinting = SKFontHinting.None,
                    Subpixel = true,
                    Edging = SKFontEdging.Antialias,
                };
                canvas.Save();
                canvas.Translate((float)words.At.X, (float)words.At.Y);
                canvas.RotateDegrees(-90 * words.Quarters);
                canvas.DrawText(words.Text, 0, 0, SKTextAlign.Left, font, paint);
                canvas.Restore();
                break;
            }

            case PlacedPicture placed:
                Draw(canvas, placed);
                break;
        }
    }

    private static void Draw(SKCanvas canvas, PlacedPicture placed)
    {
        Picture picture = placed.Picture;
        using SKBitmap bitmap = new(
            new SKImageInfo(picture.Width, picture.Height, SKColorType.Rgba8888, SKAlphaType.Opaque)
        );
        int[] row = new int[picture.Width];
        for (int y = 0; y < picture.Height; y++)
        {
            for (int x = 0; x < row.Length; x++)
            {
                int i = picture.IndexOf(x, y);
                row[x] =
                    Dimmed(picture.Rgb[i], placed.Ground.Red, placed.Dim)
                    | (Dimmed(picture.Rgb[i + 1], placed.Ground.Green, placed.Dim) << 8)
                    | (Dimmed(picture.Rgb[i + 2], placed.Ground.Blue, placed.Dim) << 16)
                    | (0xFF << 24);
            }

            Marshal.Copy(row, 0, bitmap.GetPixels() + y * bitmap.RowBytes, row.Length);
        }

        using SKImage image = SKImage.FromBitmap(bitmap);
        Box<PageSpace> b = placed.Box;
        canvas.DrawImage(
            image,
            new SKRect((float)b.Left, (float)b.Top, (float)b.Right, (float)b.Bottom),
            new SKSamplingOptions(SKFilterMode.Linear, SKMipmapMode.Linear),
            null
        );

        static int Dimmed(byte value, byte ground, double dim) => (int)Math.Round(value + (ground - value) * dim);
    }

    private static SKPath PathOf(IReadOnlyList<Edge<PageSpace>> edges)
    {
        using SKPathBuilder path = new();
        Point<PageSpace> start = default;
        Point<PageSpace> pen = new(double.NaN, double.NaN);
        for (int i = 0; i < edges.Count; i++)
        {
            Edge<PageSpace> e = edges[i];
            if (e.From != pen)
            {
                path.MoveTo((float)e.From.X, (float)e.From.Y);
                start = e.From;
            }

            if (e.IsLine)
            {
                path.LineTo((float)e.To.X, (float)e.To.Y);
            }
            else
            {
                foreach ((Point<PageSpace> c1, Point<PageSpace> c2, Point<PageSpace> end) in PdfFormat.Curve(e))
                {
                    path.CubicTo((float)c1.X, (float)c1.Y, (float)c2.X, (float)c2.Y, (float)end.X, (float)end.Y);
                }
            }

            pen = e.To;
            if (e.To == start && (i + 1 == edges.Count || edges[i + 1].From != e.To))
            {
                path.Close();
                pen = new(double.NaN, double.NaN);
            }
        }

        return path.Detach();
    }

    private static SKPaint PaintOf(Ink ink) => new() { Color = ColorOf(ink), IsAntialias = true };

    private static SKColor ColorOf(Ink ink) => new(ink.Red, ink.Green, ink.Blue, ink.Alpha);
}
