using System.Diagnostics;
using System.Text;
using ImageMagick;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

public class PhotoReaderTests
{
    // 160 × 120 pixels of four coloured quarters (red, green / blue, white), stored turned a quarter to the left, with the
    // file's own turn (irot) that puts it upright and an EXIF orientation 6 beside it, as phones write. Encoded with libheif.
    private const string TurnedHeic =
        "AAAAHGZ0eXBoZWljAAAAAG1pZjFoZWljbWlhZgAAAYptZXRhAAAAAAAAACFoZGxyAAAAAAAAAABwaWN0AAAAAAAAAAAAAAAAAAAA"
        + "AA5waXRtAAAAAAABAAAANGlsb2MAAAAAREAAAgABAAAAAAGuAAEAAAAAAAAA3gACAAAAAAKMAAEAAAAAAAAAHgAAADhpaW5mAAAA"
        + "AAACAAAAFWluZmUCAAAAAAEAAGh2YzEAAAAAFWluZmUCAAABAAIAAEV4aWYAAAAAyWlwcnAAAACqaXBjbwAAAHVodmNDAQNwAAAA"
        + "AAAAAAAAHvAA/P34+AAADwMgAAEAGEABDAH//wNwAAADAJAAAAMAAAMAHroCQCEAAQAoQgEBA3AAAAMAkAAAAwAAAwAeoDyAoWW6"
        + "kkprmwIAAAMAAgAAAwACECIAAQAHRAHBcrAiQAAAABRpc3BlAAAAAAAAAHgAAACgAAAAEHBpeGkAAAAAAwgICAAAAAlpcm90AwAA"
        + "ABdpcG1hAAAAAAAAAAEAAQSBAoOEAAAAGmlyZWYAAAAAAAAADmNkc2MAAgABAAEAAAEEbWRhdAAAANooAa8J4GcRo5dV9f+ZV///"
        + "pm1//8nLLR6dwsMy+x4ldrqeeuJxFdm921RCajjsMMlwvq/sfDJG/gt/KRutjW/+FjRV1maQhAAABwAAAwAAAwDHZx7ZBCRryE//"
        + "pe2UexzOf8ozgT62OmK1upendEiwjBOufESYSXnkDfvJDcJmZsb8zMEI4BFKeiT25gbHVneriz5QqwMyf2r3LolW8NBLJjvxwkdQ"
        + "tXo1fG3eOfE7zRMUbgorGye4ST64AAALhusNfDXF7PoGOz0tl1BL1drNi9FkIenUAAAhIAAAAABJSSoACAAAAAEAEgEDAAEAAAAG"
        + "AAAAAAAAAA==";

    private static readonly (byte R, byte G, byte B)[] Quarters =
    [
        (255, 0, 0),
        (0, 255, 0),
        (0, 0, 255),
        (255, 255, 255),
    ];

    public static TheoryData<MagickFormat, int> FormatsAndTurns()
    {
        TheoryData<MagickFormat, int> data = [];
        foreach (MagickFormat format in new[] { MagickFormat.Jpeg, MagickFormat.Png, MagickFormat.WebP })
        {
            for (int orientation = 1; orientation <= 8; orientation++)
            {
                data.Add(format, orientation);
            }
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(FormatsAndTurns))]
    public void A_photo_is_turned_upright_by_its_exif_orientation(MagickFormat format, int orientation)
    {
        // The stored picture is made so that the EXIF standard's turn gives red, green / blue, white.
        const int Width = 160;
        const int Height = 120;
        bool swapped = orientation >= 5;
        int storedWidth = swapped ? Height : Width;
        int storedHeight = swapped ? Width : Height;
        byte[] stored = new byte[storedWidth * storedHeight * 3];
        for (int y = 0; y < Height; y++)
        {
            for (int x = 0; x < Width; x++)
            {
                // Where the upright pixel lies in the stored picture (EXIF 2.32, table 6: what row 0 and column 0 are).
                (int sx, int sy) = orientation switch
                {
                    1 => (x, y),
                    2 => (Width - 1 - x, y),
                    3 => (Width - 1 - x, Height - 1 - y),
                    4 => (x, Height - 1 - y),
                    5 => (y, x),
                    6 => (y, Width - 1 - x),
                    7 => (Height - 1 - y, Width - 1 - x),
                    _ => (Height - 1 - y, x),
                };
                (byte r, byte g, byte b) = Quarters[(y < Height / 2 ? 0 : 2) + (x < Width / 2 ? 0 : 1)];
                int i = (sy * storedWidth + sx) * 3;
                (stored[i], stored[i + 1], stored[i + 2]) = (r, g, b);
            }
        }

        byte[] file = Encode(stored, storedWidth, storedHeight, format, orientation);
        Photo photo = PhotoReader.Read(file, "turned");

        Assert.Equal((Width, Height), (photo.Picture.Width, photo.Picture.Height));
        AssertQuarters(photo.Picture);
        Assert.Equal(orientation, photo.Facts.ExifOrientation);
        Assert.Equal((storedWidth, storedHeight), (photo.Facts.StoredWidth, photo.Facts.StoredHeight));
    }

    [Fact]
    public void A_heic_photo_is_turned_once_by_its_own_turn_and_not_again_by_exif()
    {
        Photo photo = PhotoReader.Read(Convert.FromBase64String(TurnedHeic), "phone.heic");

        Assert.Equal((160, 120), (photo.Picture.Width, photo.Picture.Height));
        AssertQuarters(photo.Picture);
        Assert.Equal(6, photo.Facts.ExifOrientation);
    }

    [Fact]
    public void Camera_and_focal_lengths_come_from_exif()
    {
        ExifProfile exif = new();
        exif.SetValue(ExifTag.Make, "Made");
        exif.SetValue(ExifTag.Model, "Made Camera 3");
        exif.SetValue(ExifTag.FocalLength, new ImageMagick.Rational(57, 10));
        exif.SetValue(ExifTag.FocalLengthIn35mmFilm, (ushort)26);
        using MagickImage image = Plain(200, 150);
        image.SetProfile(exif);
        Photo photo = PhotoReader.Read(image.ToByteArray(MagickFormat.Jpeg), "facts.jpg");

        Assert.Equal("Made Camera 3", photo.Facts.Camera);
        Assert.Equal(5.7, photo.Facts.FocalLengthMillimeters!.Value, 9);
        Assert.Equal(26, photo.Facts.FocalLength35Millimeters);
        Assert.Null(photo.Facts.ExifOrientation);
    }

    [Fact]
    public void Transparent_pixels_are_laid_on_white()
    {
        using MagickImage image = new(MagickColors.Transparent, 100, 100);
        Photo photo = PhotoReader.Read(image.ToByteArray(MagickFormat.Png), "clear.png");

        Assert.All(photo.Picture.Rgb, v => Assert.Equal(255, v));
    }

    [Fact]
    public void Grey_and_sixteen_bit_and_cmyk_pictures_become_eight_bit_srgb()
    {
        using MagickImage grey = new(new MagickColor(90, 90, 90), 100, 80) { ColorType = ColorType.Grayscale };
        AssertMiddle(PhotoReader.Read(grey.ToByteArray(MagickFormat.Jpeg), "grey.jpg"), 90, 90, 90, 2);

        using MagickImage deep = new(new MagickColor(200, 100, 50), 100, 80) { Depth = 16 };
        deep.Settings.SetDefine(MagickFormat.Png, "bit-depth", "16");
        AssertMiddle(PhotoReader.Read(deep.ToByteArray(MagickFormat.Png), "deep.png"), 200, 100, 50, 1);

        using MagickImage press = new(new MagickColor(200, 100, 50), 100, 80) { ColorSpace = ColorSpace.CMYK };
        AssertMiddle(PhotoReader.Read(press.ToByteArray(MagickFormat.Jpeg), "press.jpg"), 200, 100, 50, 6);
    }

    [Fact]
    public void A_colour_profile_is_applied()
    {
        // Adobe RGB (1998) has the same red and blue as sRGB and a purer green: the numbers 100, 200, 100 are a green that sRGB
        // writes with less red.
        using MagickImage wide = new(new MagickColor(100, 200, 100), 100, 80);
        wide.SetProfile(ColorProfiles.AdobeRGB1998);
        Photo photo = PhotoReader.Read(wide.ToByteArray(MagickFormat.Png), "wide.png");

        Assert.True(photo.Picture.Rgb[0] < 60, "red stayed " + photo.Picture.Rgb[0]);
    }

    public static TheoryData<string> DamagedFiles() =>
        ["text", "empty", "cut jpeg", "cut png", "cut webp", "one pixel", "huge png", "pdf", "head only", "film"];

    [Theory]
    [MemberData(nameof(DamagedFiles))]
    public void What_is_no_whole_photo_is_refused_with_what_where_and_remedy(string kind)
    {
        using MagickImage image = Noisy(400, 300);
        byte[] bytes = kind switch
        {
            "text" => Encoding.UTF8.GetBytes("This is a shopping list.\nThread, needles.\n"),
            "empty" => [],
            "cut jpeg" => Half(image.ToByteArray(MagickFormat.Jpeg)),
            "cut png" => Half(image.ToByteArray(MagickFormat.Png)),
            "cut webp" => Half(image.ToByteArray(MagickFormat.WebP)),
            "one pixel" => Plain(1, 1).ToByteArray(MagickFormat.Png),
            "huge png" => HugePng(),
            "pdf" => Encoding.ASCII.GetBytes("%PDF-1.7\n%%EOF"),
            "film" => [0, 0, 0, 24, .. "ftypisom"u8, 0, 0, 2, 0, .. "isommp41"u8],
            _ => image.ToByteArray(MagickFormat.Jpeg)[..20],
        };

        InputException refused = Assert.Throws<InputException>(() => PhotoReader.Read(bytes, "IMG_0001.jpg"));
        Assert.Contains("IMG_0001.jpg", refused.Where, StringComparison.Ordinal);
        Assert.NotEmpty(refused.What);
        Assert.NotEmpty(refused.Remedy);
    }

    [Fact]
    public void A_picture_of_300_megapixels_is_refused_from_its_header_in_little_memory()
    {
        byte[] bytes = HugePng();
        PhotoReader.Read(Plain(80, 80).ToByteArray(MagickFormat.Png), "warm.png");
        long before = Process.GetCurrentProcess().PeakWorkingSet64;
        InputException refused = Assert.Throws<InputException>(() => PhotoReader.Read(bytes, "huge.png"));

        Assert.Contains("20000 × 15000", refused.What, StringComparison.Ordinal);

        // Decoded it would be 900 MB.
        using Process now = Process.GetCurrentProcess();
        Assert.True(now.PeakWorkingSet64 - before < 100_000_000, "memory grew");
    }

    [Fact]
    public void A_missing_file_and_a_folder_are_refused()
    {
        string folder = Path.GetTempPath();
        string missing = Path.Combine(folder, "no-such-photo-4711.jpg");

        Assert.Contains(
            missing,
            Assert.Throws<InputException>(() => PhotoReader.Read(missing)).Where,
            StringComparison.Ordinal
        );
        Assert.Contains(
            "folder",
            Assert.Throws<InputException>(() => PhotoReader.Read(folder)).What,
            StringComparison.Ordinal
        );
    }

    [Fact]
    public void A_small_photo_is_read_with_a_finding()
    {
        Photo small = PhotoReader.Read(Plain(800, 600).ToByteArray(MagickFormat.Jpeg), "small.jpg");
        Photo large = PhotoReader.Read(Plain(2000, 1500).ToByteArray(MagickFormat.Jpeg), "large.jpg");

        Assert.Equal("photo-is-small", Assert.Single(small.Findings).What);
        Assert.Empty(large.Findings);
    }

    [Fact]
    public void Reading_can_be_cancelled() =>
        Assert.ThrowsAny<OperationCanceledException>(() =>
            PhotoReader.Read(Plain(200, 200).ToByteArray(MagickFormat.Png), "a.png", new CancellationToken(true))
        );

    private static void AssertQuarters(Picture picture)
    {
        for (int q = 0; q < 4; q++)
        {
            int x = q % 2 == 0 ? 20 : 140;
            int y = q < 2 ? 15 : 105;
            int i = picture.IndexOf(x, y);

            // Lossy formats change flat colours by a few steps.
            Assert.InRange(picture.Rgb[i], Quarters[q].R - 8, Quarters[q].R + 8);
            Assert.InRange(picture.Rgb[i + 1], Quarters[q].G - 8, Quarters[q].G + 8);
            Assert.InRange(picture.Rgb[i + 2], Quarters[q].B - 8, Quarters[q].B + 8);
        }
    }

    private static void AssertMiddle(Photo photo, int r, int g, int b, int within)
    {
        int i = photo.Picture.IndexOf(photo.Picture.Width / 2, photo.Picture.Height / 2);
        Assert.InRange(photo.Picture.Rgb[i], r - within, r + within);
        Assert.InRange(photo.Picture.Rgb[i + 1], g - within, g + within);
        Assert.InRange(photo.Picture.Rgb[i + 2], b - within, b + within);
    }

    private static byte[] Encode(byte[] rgb, int width, int height, MagickFormat format, int orientation)
    {
        PixelReadSettings settings = new((uint)width, (uint)height, StorageType.Char, PixelMapping.RGB);
        using MagickImage image = new(rgb, settings);
        ExifProfile exif = new();
        exif.SetValue(ExifTag.Orientation, (ushort)orientation);
        image.SetProfile(exif);
        image.Orientation = (Orientation)orientation;
        image.Quality = 95;
        return image.ToByteArray(format);
    }

    private static MagickImage Plain(uint width, uint height) => new(new MagickColor(180, 170, 150), width, height);

    private static MagickImage Noisy(int width, int height)
    {
        byte[] rgb = new byte[width * height * 3];
        new Random(5).NextBytes(rgb);
        return new(rgb, new PixelReadSettings((uint)width, (uint)height, StorageType.Char, PixelMapping.RGB));
    }

    private static byte[] Half(byte[] bytes) => bytes[..(bytes.Length / 2)];

    // A PNG whose header says 20,000 × 15,000 and which holds almost nothing else.
    private static byte[] HugePng()
    {
        List<byte> png = [0x89, .. "PNG\r\n"u8, 0x1A, 0x0A];
        Chunk("IHDR"u8, [0, 0, 0x4E, 0x20, 0, 0, 0x3A, 0x98, 8, 2, 0, 0, 0]);
        Chunk("IDAT"u8, [0x78, 0x9C, 0x63, 0, 0, 0, 1, 0, 1]);
        Chunk("IEND"u8, []);
        return [.. png];

        void Chunk(ReadOnlySpan<byte> type, byte[] body)
        {
            byte[] typed = [.. type, .. body];
            png.AddRange(Big((uint)body.Length));
            png.AddRange(typed);
            png.AddRange(Big(Crc(typed)));
        }

        static byte[] Big(uint v) => [(byte)(v >> 24), (byte)(v >> 16), (byte)(v >> 8), (byte)v];

        // ISO 3309 CRC-32, as PNG has it.
        static uint Crc(byte[] bytes)
        {
            uint c = 0xFFFFFFFF;
            foreach (byte b in bytes)
            {
                c ^= b;
                for (int k = 0; k < 8; k++)
                {
                    c = (c & 1) != 0 ? 0xEDB88320 ^ (c >> 1) : c >> 1;
                }
            }

            return ~c;
        }
    }
}
