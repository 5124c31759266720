using System.Globalization;
using ImageMagick;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Reads photographs: JPEG, PNG, WebP, HEIC and AVIF, to upright 8-bit sRGB. Transparency is laid on white; a colour profile is
/// applied; grey, CMYK and 16-bit pictures are converted.
/// </summary>
/// <remarks>
/// The size is read from the header before anything is decoded. HEIC and AVIF carry their own turn, which the decoder applies;
/// an EXIF turn beside it is information and is not applied again (ISO/IEC 23008-12:2017, 6.5.10).
/// </remarks>
public static class PhotoReader
{
    /// <summary>Most megapixels that are decoded: 300 MB of 8-bit RGB.</summary>
    public const double MostMegapixels = 100;

    /// <summary>Below so many megapixels a finding says that the photo is small.</summary>
    public const double SmallMegapixels = 2;

    // Below this a block's seams can't be told apart; such files are icons and thumbnails.
    private const int LeastSide = 64;

    // One byte more than the largest file that a 100-megapixel picture could sensibly be (16-bit PNG, uncompressed).
    private const long MostFileBytes = 900_000_000;

    /// <summary>Reads a photograph from a file.</summary>
    /// <exception cref="InputException">The file can't be read, is no picture, is damaged, or is too small or too large.</exception>
    /// <exception cref="OperationCanceledException">Cancelled.</exception>
    public static Photo Read(string path, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(path);
        if (Directory.Exists(path))
        {
            throw new InputException("This is a folder, not a photo", path, "Give the photo's file.");
        }

        if (!File.Exists(path))
        {
            throw new InputException("There is no such file", path, "Check the name and the folder.");
        }

        byte[] bytes;
        try
        {
            long length = new FileInfo(path).Length;
            if (length > MostFileBytes)
            {
                throw new InputException(
                    string.Create(CultureInfo.InvariantCulture, $"The file holds {length / 1_000_000} MB"),
                    path,
                    "Save the photo as a JPEG of at most 100 megapixels."
                );
            }

            bytes = File.ReadAllBytes(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException("The file can't be read", path, "Check that it may be read by you.", e);
        }

        return Read(bytes, path, ct);
    }

    /// <summary>Reads a photograph from a file's bytes.</summary>
    /// <param name="bytes">The whole file.</param>
    /// <param name="name">Its name, for messages.</param>
    /// <param name="ct">Cancels between reading the header, decoding and converting.</param>
    /// <exception cref="InputException">It is no picture, is damaged, or is too small or too large.</exception>
    /// <exception cref="OperationCanceledException">Cancelled.</exception>
    public static Photo Read(byte[] bytes, string name, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(bytes);
        ArgumentNullException.ThrowIfNull(name);
        MagickFormat format = FormatOf(bytes, name);
        (int storedWidth, int storedHeight) = CheckSize(bytes, format, name);
        ct.ThrowIfCancellationRequested();
        List<string> warnings = [];
        try
        {
            using MagickImage image = new();
            image.Warning += (_, e) => warnings.Add(e.Message);
            image.Read(bytes, new MagickReadSettings { Format = format });
            RefuseDamaged(warnings, name);
            ct.ThrowIfCancellationRequested();

            PhotoFacts facts = FactsOf(image, storedWidth, storedHeight);
            ToSrgb(image);
            if (image.HasAlpha)
            {
                image.BackgroundColor = MagickColors.White;
                image.Alpha(AlphaAction.Remove);
            }

            if (format is not (MagickFormat.Heic or MagickFormat.Avif))
            {
                // Not every format's reader takes the tag over from EXIF.
                if (facts.ExifOrientation is { } turn)
                {
                    image.Orientation = (Orientation)turn;
                }

                image.AutoOrient();
            }

            ct.ThrowIfCancellationRequested();
            using IPixelCollection<byte> pixels = image.GetPixelsUnsafe();
            byte[] rgb =
                pixels.ToByteArray(PixelMapping.RGB)
                ?? throw new InputException("The picture holds no pixels", name, "Save the photo again as a JPEG.");
            Picture picture = new((int)image.Width, (int)image.Height, rgb);
            return new(picture, name, facts) { Findings = FindSmallness(picture, name) };
        }
        catch (MagickException e)
        {
            throw new InputException(
                "The picture is damaged or cut short and can't be decoded",
                name,
                "Copy the photo from the camera again, or save it anew as a JPEG.",
                e
            );
        }
    }

    private static MagickFormat FormatOf(ReadOnlySpan<byte> bytes, string name)
    {
        if (bytes.IsEmpty)
        {
            throw new InputException("The file is empty", name, "Copy the photo from the camera again.");
        }

        if (bytes.StartsWith((ReadOnlySpan<byte>)[0xFF, 0xD8, 0xFF]))
        {
            return MagickFormat.Jpeg;
        }

        if (bytes.StartsWith((ReadOnlySpan<byte>)[0x89, (byte)'P', (byte)'N', (byte)'G', 0x0D, 0x0A, 0x1A, 0x0A]))
        {
            return MagickFormat.Png;
        }

        if (bytes.Length >= 12 && bytes.StartsWith("RIFF"u8) && bytes[8..12].SequenceEqual("WEBP"u8))
        {
            return MagickFormat.WebP;
        }

        if (bytes.Length >= 12 && bytes[4..8].SequenceEqual("ftyp"u8))
        {
            ReadOnlySpan<byte> brand = bytes[8..12];
            if (brand.SequenceEqual("avif"u8))
            {
                return MagickFormat.Avif;
            }

            foreach (string heif in new[] { "heic", "heix", "heim", "heis", "hevc", "mif1", "msf1" })
            {
                if (brand.SequenceEqual(System.Text.Encoding.ASCII.GetBytes(heif)))
                {
                    return MagickFormat.Heic;
                }
            }
        }

        throw new InputException(
            $"This is not a photo but {KindOf(bytes)}",
            name,
            "Give a JPEG, PNG, WebP or HEIC picture."
        );
    }

    private static string KindOf(ReadOnlySpan<byte> bytes)
    {
        if (bytes.StartsWith("%PDF"u8))
        {
            return "a PDF";
        }

        if (bytes.StartsWith("GIF8"u8))
        {
            return "a GIF";
        }

        if (bytes.StartsWith("II*\0"u8) || bytes.StartsWith("MM\0*"u8))
        {
            return "a TIFF or raw camera file";
        }

        if (IsFilm(bytes))
        {
            return "a film";
        }

        if (bytes.StartsWith("MZ"u8) || bytes.StartsWith("\x7fELF"u8))
        {
            return "a program";
        }

        if (bytes.StartsWith("PK\x03\x04"u8))
        {
            return "a packed file";
        }

        ReadOnlySpan<byte> head = bytes[..Math.Min(bytes.Length, 512)];
        bool text = true;
        foreach (byte b in head)
        {
            text &= b is >= 0x20 or (byte)'\n' or (byte)'\r' or (byte)'\t';
        }

        return text ? "text" : "a file of another kind";
    }

    // MP4 and QuickTime (ISO/IEC 14496-12, 4.2: the first box's kind), Matroska and WebM (RFC 8794), AVI.
    private static bool IsFilm(ReadOnlySpan<byte> bytes)
    {
        if (bytes.StartsWith((ReadOnlySpan<byte>)[0x1A, 0x45, 0xDF, 0xA3]))
        {
            return true;
        }

        if (bytes.Length >= 12 && bytes.StartsWith("RIFF"u8) && bytes[8..12].SequenceEqual("AVI "u8))
        {
            return true;
        }

        ReadOnlySpan<byte> box = bytes.Length >= 8 ? bytes[4..8] : default;
        return box.SequenceEqual("ftyp"u8)
            || box.SequenceEqual("moov"u8)
            || box.SequenceEqual("mdat"u8)
            || box.SequenceEqual("wide"u8);
    }

    private static (int Width, int Height) CheckSize(byte[] bytes, MagickFormat format, string name)
    {
        (long width, long height) = (0, 0);
        try
        {
            MagickImageInfo info = new(bytes, new MagickReadSettings { Format = format });
            (width, height) = (info.Width, info.Height);
        }
        catch (MagickException e)
        {
            throw new InputException(
                "The picture's header is damaged or cut short",
                name,
                "Copy the photo from the camera again, or save it anew as a JPEG.",
                e
            );
        }

        string size = string.Create(CultureInfo.InvariantCulture, $"{width} × {height} pixels");
        if (width * height > MostMegapixels * 1e6)
        {
            throw new InputException(
                $"The picture is {size}, more than 100 megapixels",
                name,
                "Save it smaller: 12 megapixels are plenty."
            );
        }

        if (width < LeastSide || height < LeastSide)
        {
            throw new InputException(
                $"The picture is only {size}",
                name,
                "Give the photo as the camera took it, not an icon or a thumbnail."
            );
        }

        return ((int)width, (int)height);
    }

    private static void RefuseDamaged(List<string> warnings, string name)
    {
        // libjpeg fills what is missing with grey and only warns. "Extraneous bytes" between markers lose nothing.
        string? damage = warnings.FirstOrDefault(w =>
            w.Contains("premature end", StringComparison.OrdinalIgnoreCase)
            || (
                w.Contains("corrupt", StringComparison.OrdinalIgnoreCase)
                && !w.Contains("extraneous", StringComparison.OrdinalIgnoreCase)
            )
        );
        if (damage is not null)
        {
            throw new InputException(
                "The picture is damaged or cut short: a part of it is missing",
                name,
                "Copy the photo from the camera again."
            );
        }
    }

    private static void ToSrgb(MagickImage image)
    {
        IColorProfile? profile = image.GetColorProfile();
        bool isSrgb =
            profile is null || (profile.Description?.Contains("sRGB", StringComparison.OrdinalIgnoreCase) ?? false);
        if (!isSrgb && profile is not null)
        {
            try
            {
                image.TransformColorSpace(profile, ColorProfiles.SRGB);
            }
            catch (MagickException)
            {
                // A broken profile: its numbers are then taken for sRGB, as viewers do.
                image.RemoveProfile(profile);
            }
        }

        if (image.ColorSpace is not (ColorSpace.sRGB or ColorSpace.Gray))
        {
            image.ColorSpace = ColorSpace.sRGB;
        }
    }

    private static PhotoFacts FactsOf(MagickImage image, int storedWidth, int storedHeight)
    {
        IExifProfile? exif;
        try
        {
            exif = image.GetExifProfile();
        }
        catch (MagickException)
        {
            exif = null;
        }

        string? make = exif?.GetValue(ExifTag.Make)?.Value?.Trim('\0', ' ');
        string? model = exif?.GetValue(ExifTag.Model)?.Value?.Trim('\0', ' ');
        string? camera =
            string.IsNullOrEmpty(model) ? make
            : string.IsNullOrEmpty(make) || model.StartsWith(make, StringComparison.OrdinalIgnoreCase) ? model
            : $"{make} {model}";
        double? focal = exif?.GetValue(ExifTag.FocalLength)?.Value.ToDouble();
        int? focal35 = exif?.GetValue(ExifTag.FocalLengthIn35mmFilm)?.Value;
        int? orientation = exif?.GetValue(ExifTag.Orientation)?.Value;
        return new(
            string.IsNullOrEmpty(camera) ? null : camera,
            focal is > 0 and < 10_000 ? focal : null,
            focal35 > 0 ? focal35 : null,
            storedWidth,
            storedHeight,
            orientation is >= 1 and <= 8 ? orientation : null
        );
    }

    private static IReadOnlyList<Finding> FindSmallness(Picture picture, string name)
    {
        double megapixels = (double)picture.Width * picture.Height / 1e6;
        if (megapixels >= SmallMegapixels)
        {
            return [];
        }

        string where = string.Create(
            CultureInfo.InvariantCulture,
            $"{name}, {picture.Width} × {picture.Height} pixels"
        );
        return
        [
            new(
                "photo-is-small",
                where,
                "Use the photo as the camera took it; a copy from a message or a web page has lost its detail."
            ),
        ];
    }
}
