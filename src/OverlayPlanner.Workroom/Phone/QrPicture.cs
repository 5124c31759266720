using QRCoder;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>An address as a picture that a phone's camera reads.</summary>
internal static class QrPicture
{
    /// <summary>A PNG as a data address, black on white with its quiet zone, by day and by night.</summary>
    public static string Of(Uri address)
    {
        // Level M mends 15 % of the picture (ISO/IEC 18004): glare on a screen, at a size that a camera still reads from a step away.
        using QRCodeData code = QRCodeGenerator.GenerateQrCode(address.AbsoluteUri, QRCodeGenerator.ECCLevel.M);
        using PngByteQRCode picture = new(code);
        return "data:image/png;base64," + Convert.ToBase64String(picture.GetGraphic(8));
    }

    /// <summary>The same of block signs, for a terminal: two modules' height to a line, dark on light ground.</summary>
    public static string InTextSigns(Uri address)
    {
        using QRCodeData code = QRCodeGenerator.GenerateQrCode(address.AbsoluteUri, QRCodeGenerator.ECCLevel.L);
        using AsciiQRCode picture = new(code);
        return picture.GetGraphicSmall(invert: true);
    }
}
