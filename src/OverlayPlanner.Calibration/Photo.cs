using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>What a picture file says about how it was taken; each is null where the file is silent.</summary>
/// <param name="Camera">Maker and model, as the camera wrote them.</param>
/// <param name="FocalLengthMillimeters">The lens's focal length, mm.</param>
/// <param name="FocalLength35Millimeters">The focal length that gives the same view on 36 × 24 mm film, mm.</param>
/// <param name="StoredWidth">Pixels across as stored, before the turn.</param>
/// <param name="StoredHeight">Pixels down as stored, before the turn.</param>
/// <param name="ExifOrientation">The EXIF orientation tag as stored, 1 to 8.</param>
public sealed record PhotoFacts(
    string? Camera = null,
    double? FocalLengthMillimeters = null,
    double? FocalLength35Millimeters = null,
    int? StoredWidth = null,
    int? StoredHeight = null,
    int? ExifOrientation = null
)
{
    /// <summary>Nothing is known.</summary>
    public static readonly PhotoFacts None = new();
}

/// <summary>A decoded photograph, upright.</summary>
/// <param name="Picture">8-bit sRGB after the EXIF turn; its pixels are <see cref="PhotoSpace"/>.</param>
/// <param name="Name">The file's name, for messages.</param>
/// <param name="Facts">What the file says about the camera.</param>
public sealed record Photo(Picture Picture, string Name, PhotoFacts Facts)
{
    /// <summary>What a person should know about the picture (for example that it is small).</summary>
    public IReadOnlyList<Finding> Findings { get; init; } = [];
}
