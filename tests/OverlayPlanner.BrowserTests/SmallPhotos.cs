using ImageMagick;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.BrowserTests;

/// <summary>The sample's photograph, made smaller and worse.</summary>
internal static class SmallPhotos
{
    /// <summary>As sharp as its size allows, JPEG.</summary>
    public static byte[] Plain(uint width, uint height) => Made(width, height, _ => { });

    /// <summary>Out of focus and in too little light, JPEG.</summary>
    public static byte[] BlurredAndDark(uint width, uint height) =>
        Made(
            width,
            height,
            image =>
            {
                image.GaussianBlur(0, 5);
                image.Evaluate(Channels.RGB, EvaluateOperator.Multiply, 0.25);
            }
        );

    private static byte[] Made(uint width, uint height, Action<MagickImage> spoil)
    {
        using MagickImage image = new(Sample.Load().Jpeg);
        image.Resize(width, height);
        spoil(image);
        image.Quality = 90;
        return image.ToByteArray(MagickFormat.Jpeg);
    }
}
