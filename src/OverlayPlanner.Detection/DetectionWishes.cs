using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection;

/// <summary>What is known about a rectified picture before seams are looked for in it.</summary>
public sealed record DetectionWishes
{
    /// <summary>Width of the mapped area on the cloth, more than zero.</summary>
    public required Length Width { get; init; }

    /// <summary>Height of the mapped area on the cloth, more than zero.</summary>
    public required Length Height { get; init; }

    /// <summary>
    /// How much cloth the picture shows beyond each side of the mapped area. The pixel (px, py) shows the cloth at
    /// ((px + 0.5) / pixels per inch − margin, (py + 0.5) / pixels per inch − margin).
    /// </summary>
    public Length Margin { get; init; } = Length.Zero;

    /// <summary>What the four sides of the mapped area are.</summary>
    public EdgeKind Outline { get; init; } = EdgeKind.Seam;

    /// <summary>
    /// Standard deviation, one axis, that the scale and the camera bring to a place on the cloth; added in quadrature to what
    /// the seams themselves allow. Null where nothing is known.
    /// </summary>
    public Func<Point<ClothSpace>, Length>? ScaleSigma { get; init; }

    /// <summary>
    /// Photo pixels in an inch of cloth, from which <see cref="Junction.At"/> takes how well a seam's middle can be seen. Null
    /// where unknown: then as many as the seams are looked for in.
    /// </summary>
    public double? PhotoPixelsPerInch { get; init; }

    /// <summary>
    /// How the blocks are set, where the user counted them: rows and columns of whole blocks; on point, of the blocks that stand
    /// corner to corner, those between them not counted. A strong prior: where the seams show something else there is the finding
    /// <c>hint-not-followed</c>. Null where nobody said.
    /// </summary>
    public (int Rows, int Columns)? Lattice { get; init; }

    /// <summary>
    /// Id or name of the pattern that the blocks have, of the library or of <see cref="Drafts"/>; a strong prior as above.
    /// </summary>
    public string? Pattern { get; init; }

    /// <summary>
    /// The corners of one block on the cloth, inches, clockwise from its top left; exactly four where given. A strong prior as
    /// above.
    /// </summary>
    public IReadOnlyList<Point<ClothSpace>>? BlockCorners { get; init; }

    /// <summary>Drafts that the user taught; they are named like those of the library, before them where both fit.</summary>
    public IReadOnlyList<BlockDraft> Drafts { get; init; } = [];

    /// <summary>Told in a few words what is being done, where somebody waits.</summary>
    public IProgress<string>? Progress { get; init; }
}

/// <summary>What was found in a picture.</summary>
/// <param name="Map">A plane map without dangling seams; the outline alone where no seam was found.</param>
/// <param name="Findings">
/// What a person should know: <c>no-seams</c>, <c>picture-too-coarse</c>, <c>picture-blurred</c>,
/// <c>much-is-doubtful</c>, <c>odd-blocks</c>, and <c>look-here</c> for the
/// seams that are least sure, worst first.
/// </param>
public sealed record DetectedQuilt(QuiltMap Map, IReadOnlyList<Finding> Findings)
{
    /// <summary>Lines that may be seams and are not in the map, with how likely each is one.</summary>
    public IReadOnlyList<SeamLine> Missing { get; init; } = [];
}
