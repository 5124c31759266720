using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Which cloth a made quilt is cut from.</summary>
public enum FabricMix
{
    /// <summary>Plain colours.</summary>
    Solids,

    /// <summary>Plain colours and tone-on-tone prints.</summary>
    Quiet,

    /// <summary>Small prints, tone-on-tone, dots, some plain.</summary>
    Prints,

    /// <summary>Large prints, plaids, stripes, geometrics.</summary>
    Loud,

    /// <summary>Washed and worn cloth of low contrast, and thin-lined prints.</summary>
    Worn,
}

/// <summary>Which print families and palettes a scene may be cut from; see <see cref="SceneSet"/>.</summary>
public enum ScenePool
{
    /// <summary>Those that may be looked at while the finder is worked on.</summary>
    Tuning,

    /// <summary>Those that only the scoreboard sees.</summary>
    HeldOut,
}

/// <summary>Thread of earlier quilting over the cloth.</summary>
public enum EarlierQuilting
{
    /// <summary>None.</summary>
    None,

    /// <summary>Long gentle lines, an inch and more apart.</summary>
    Light,

    /// <summary>Lines every quarter to half inch: echoes, a hatch or a wandering line, with the hollows that they pull.</summary>
    Dense,
}

/// <summary>What lies round the mapped rectangle.</summary>
public enum Surround
{
    /// <summary>Batting and backing, as on a frame.</summary>
    Batting,

    /// <summary>A pieced-on border, then batting.</summary>
    Border,

    /// <summary>A wooden floor.</summary>
    Floor,

    /// <summary>A painted table.</summary>
    Table,

    /// <summary>A loaded frame: border, batting, backing, the rails above and below.</summary>
    Frame,
}

/// <summary>What a made photograph is to show, and how it is taken.</summary>
public sealed record SceneWishes
{
    /// <summary>For lists of results.</summary>
    public string Name { get; init; } = "scene";

    /// <summary>The same wishes with the same seed give the same photograph.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>Id of a library block. Ignored where <see cref="Draft"/> is given.</summary>
    public string Pattern { get; init; } = "sawtooth-star";

    /// <summary>Finished side of a block, in.</summary>
    public double BlockInches { get; init; } = 12;

    /// <summary>Blocks across.</summary>
    public int Columns { get; init; } = 2;

    /// <summary>Blocks down.</summary>
    public int Rows { get; init; } = 2;

    /// <summary>Finished width of the sashing, in; 0 for none.</summary>
    public double SashInches { get; init; }

    /// <summary>Another map to sew; its seams are taken as they are, before the piecing error.</summary>
    public QuiltMap? Draft { get; init; }

    /// <summary>Which cloth.</summary>
    public FabricMix Fabrics { get; init; } = FabricMix.Quiet;

    /// <summary>Which cloth behind the figure; null for the same kind as <see cref="Fabrics"/>.</summary>
    public FabricMix? Ground { get; init; }

    /// <summary>Index of the palette; null leaves it to the seed.</summary>
    public int? PaletteIndex { get; init; }

    /// <summary>Each block from cloth of its own.</summary>
    public bool Scrappy { get; init; }

    /// <summary>Part of the kinds of patch that are cut from a neighbour's cloth, so that only the ditch shows the seam.</summary>
    public double SameFabricShare { get; init; }

    /// <summary>Greatest piecing error of a point, in, each axis; at most 1/8.</summary>
    public double WobbleInches { get; init; } = 0.06;

    /// <summary>Darkness of the ditches, 0 (pressed flat) to 1 (deep).</summary>
    public double DitchDepth { get; init; } = 0.5;

    /// <summary>Part of the seams that are pressed open.</summary>
    public double PressedOpenShare { get; init; } = 0.1;

    /// <summary>Strength of puckers and waves, 0 to 1.</summary>
    public double Pucker { get; init; } = 0.5;

    /// <summary>Lines of earlier quilting across the cloth.</summary>
    public EarlierQuilting Quilted { get; init; }

    /// <summary>Which print families and palettes.</summary>
    public ScenePool Pool { get; init; }

    /// <summary>A block that is in no library; sewn in place of <see cref="Pattern"/>, and where <see cref="Draft"/> names its id.</summary>
    public BlockDraft? Foreign { get; init; }

    /// <summary>Motifs laid on and stitched down: their patches are to be left alone, and their edges are no seams.</summary>
    public int Appliques { get; init; }

    /// <summary>Patches that show a printed picture, largest first; to be left alone, its lines are no seams.</summary>
    public int Panels { get; init; }

    /// <summary>Hands at the edge, each over less than two inches of the cloth and over no point.</summary>
    public int Hands { get; init; }

    /// <summary>Clamps at the edge, each over less than half an inch of the cloth and over no point.</summary>
    public int Clamps { get; init; }

    /// <summary>A take-up roller along the upper edge.</summary>
    public bool Roller { get; init; }

    /// <summary>Depth of a shadow that falls across the cloth, 0 (none) to 1 (black).</summary>
    public double CastShadow { get; init; }

    /// <summary>What lies outside.</summary>
    public Surround Surround { get; init; } = Surround.Batting;

    /// <summary>Photo pixels across.</summary>
    public int PhotoWidth { get; init; } = 2000;

    /// <summary>Photo pixels down.</summary>
    public int PhotoHeight { get; init; } = 1500;

    /// <summary>Angle between the line of sight and straight down, degrees.</summary>
    public double TiltDegrees { get; init; } = 12;

    /// <summary>Where the camera stands: 0 at the quilt's lower edge, 90 at its right one, degrees.</summary>
    public double StandDegrees { get; init; }

    /// <summary>The camera's own turn about its line of sight, degrees.</summary>
    public double RollDegrees { get; init; } = 1;

    /// <summary>The phone's focal length in 35 mm terms, mm.</summary>
    public double FocalLength35Millimeters { get; init; } = 26;

    /// <summary>Cloth that shows outside the rectangle on each side, as a part of its longer side.</summary>
    public double Around { get; init; } = 0.06;

    /// <summary>Distortion k1, k2, p1, p2, k3 of the lens; null for none.</summary>
    public IReadOnlyList<double>? Distortion { get; init; }

    /// <summary>Unevenness of the light, 0 to 1.</summary>
    public double UnevenLight { get; init; } = 0.4;

    /// <summary>Darkening of the corners, 0 to 1.</summary>
    public double Vignetting { get; init; } = 0.3;

    /// <summary>Standard deviation of the blur, px.</summary>
    public double BlurPixels { get; init; } = 0.7;

    /// <summary>Standard deviation of the noise in mid grey, of 255.</summary>
    public double NoiseSigma { get; init; } = 2;

    /// <summary>Strength of the camera's sharpening, 0 to 1.</summary>
    public double Sharpening { get; init; } = 0.3;

    /// <summary>JPEG quality.</summary>
    public int JpegQuality { get; init; } = 90;
}

/// <summary>A made photograph with everything about it known.</summary>
/// <param name="Wishes">What was asked for.</param>
/// <param name="Truth">The quilt as it was sewn, piecing error included; seams say their low side.</param>
/// <param name="Jpeg">The photograph.</param>
/// <param name="PhotoWidth">Pixels across.</param>
/// <param name="PhotoHeight">Pixels down.</param>
/// <param name="Corners">Photo pixels of the mapped rectangle's corners, clockwise from the top left, exact.</param>
/// <param name="PhotoFromCloth">Where the photo shows a cloth point, exact.</param>
/// <param name="Lens">The lens that took it; null where it has no distortion.</param>
public sealed record MadeScene(
    SceneWishes Wishes,
    QuiltMap Truth,
    byte[] Jpeg,
    int PhotoWidth,
    int PhotoHeight,
    IReadOnlyList<Point<PhotoSpace>> Corners,
    IMap<PhotoSpace, ClothSpace> PhotoFromCloth,
    LensProfile? Lens
)
{
    /// <summary>Photo pixels of every junction of <see cref="Truth"/>, in its order.</summary>
    public IReadOnlyList<Point<PhotoSpace>> JunctionsInPhoto { get; } =
    [.. Truth.Junctions.Select(j => PhotoFromCloth.Apply(j.Place))];

    /// <summary>Decodes the photograph as the program does.</summary>
    public Photo Decode() => PhotoReader.Read(Jpeg, Wishes.Name + ".jpg");
}
