using OpenCvSharp;
using OpenCvSharp.Aruco;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The printed targets.</summary>
public enum CardKind
{
    /// <summary>A card of 2 in, for tight places.</summary>
    TwoInch,

    /// <summary>A card of 3 in, the usual one.</summary>
    ThreeInch,

    /// <summary>A card of 4 in, for large tops seen from far.</summary>
    FourInch,

    /// <summary>Three patterns of 2 in on one strip, for the batting margin.</summary>
    Strip,
}

/// <summary>A rectangle of ink on a target: inches from the target's middle, y down.</summary>
/// <param name="Left">Left side.</param>
/// <param name="Top">Upper side.</param>
/// <param name="Width">Across.</param>
/// <param name="Height">Down.</param>
public readonly record struct InkedBox(double Left, double Top, double Width, double Height);

/// <summary>One pattern of a target: its number in the marker dictionary and its middle, inches from the target's middle.</summary>
public readonly record struct TargetPattern(int Id, double X, double Y);

/// <summary>
/// A printed card: a marker that tells its number, inside a ring of small squares whose 24 inner corners are measured.
/// </summary>
/// <remarks>
/// The pattern is a lattice of 8 × 8 squares. The outer two rings of squares are a chessboard; the 4 × 4 squares in the middle
/// hold a marker of 6 × 6 half squares with half a square of white round it. Where four squares of the two rings meet, black
/// touches black over a point: such corners are seen without bias, whatever the ink, the light and the blur, while a marker's
/// own outer corners move with all three. They lie on lines 1 and 7 of the lattice, as far apart as the card allows.
/// </remarks>
/// <param name="Kind">Which card.</param>
/// <param name="Number">The number printed on it, that the user calls it by: the first pattern's id.</param>
public sealed record TargetCard(CardKind Kind, int Number)
{
    /// <summary>Squares along a side of the pattern.</summary>
    public const int Squares = 8;

    /// <summary>Distance between the outer patterns' middles on a strip.</summary>
    public static readonly Length StripSpan = Length.FromInches(7);

    // Numbers of each kind in the dictionary of 100 markers; 50 and up are the lens board's.
    private static readonly (CardKind Kind, int First, int Count, int Step)[] Numbers =
    [
        (CardKind.ThreeInch, 1, 12, 1),
        (CardKind.TwoInch, 13, 12, 1),
        (CardKind.FourInch, 25, 12, 1),
        (CardKind.Strip, 37, 4, 3),
    ];

    /// <summary>Side of the pattern, from black edge to black edge.</summary>
    public Length Side =>
        Length.FromInches(
            Kind switch
            {
                CardKind.ThreeInch => 3,
                CardKind.FourInch => 4,
                _ => 2,
            }
        );

    /// <summary>The patterns on the card.</summary>
    public IReadOnlyList<TargetPattern> Patterns =>
        Kind == CardKind.Strip
            ? [new(Number, -StripSpan.Inches / 2, 0), new(Number + 1, 0, 0), new(Number + 2, StripSpan.Inches / 2, 0)]
            : [new(Number, 0, 0)];

    /// <summary>All cards of a kind.</summary>
    public static IReadOnlyList<TargetCard> All(CardKind kind)
    {
        (_, int first, int count, int step) = Numbers.First(n => n.Kind == kind);
        return [.. Enumerable.Range(0, count).Select(i => new TargetCard(kind, first + i * step))];
    }

    /// <summary>The card that carries a marker, or null for a number that no card has.</summary>
    public static TargetCard? Carrying(int id)
    {
        foreach ((CardKind kind, int first, int count, int step) in Numbers)
        {
            if (id >= first && id < first + count * step)
            {
                return new(kind, first + (id - first) / step * step);
            }
        }

        return null;
    }

    /// <summary>All black of the card, inches from its middle.</summary>
    public IReadOnlyList<InkedBox> Ink
    {
        get
        {
            double s = Side.Inches / Squares;
            List<InkedBox> ink = [];
            foreach (TargetPattern pattern in Patterns)
            {
                for (int i = 0; i < Squares; i++)
                {
                    for (int j = 0; j < Squares; j++)
                    {
                        bool ring = i < 2 || j < 2 || i >= Squares - 2 || j >= Squares - 2;
                        if (ring && (i + j) % 2 == 0)
                        {
                            ink.Add(new(pattern.X + (i - 4) * s, pattern.Y + (j - 4) * s, s, s));
                        }
                    }
                }

                ink.AddRange(Markers.Ink(pattern.Id, pattern.X, pattern.Y, 3 * s));
            }

            return ink;
        }
    }

    /// <summary>The measured corners of one pattern, inches from the pattern's middle.</summary>
    internal static IReadOnlyList<Point<ClothSpace>> CornersOf(Length side)
    {
        double s = side.Inches / Squares;
        List<Point<ClothSpace>> corners = [];
        for (int j = 1; j < Squares; j++)
        {
            for (int i = 1; i < Squares; i++)
            {
                if (i is 1 or Squares - 1 || j is 1 or Squares - 1)
                {
                    corners.Add(new((i - 4) * s, (j - 4) * s));
                }
            }
        }

        return corners;
    }
}

/// <summary>
/// The lens board: a chessboard of 10 × 7 squares of 1 in with a marker in each white square, so that a part of it is enough.
/// </summary>
public static class LensBoard
{
    /// <summary>Squares across.</summary>
    public const int Across = 10;

    /// <summary>Squares down.</summary>
    public const int Down = 7;

    /// <summary>Side of a square.</summary>
    public static readonly Length Square = Length.FromInches(1);

    /// <summary>Side of a marker: half a square, so that a corner has a quarter of a square clear of it on each side.</summary>
    public static readonly Length Marker = Length.FromInches(0.5);

    internal const int FirstId = 50;

    /// <summary>All black of the board, inches from its middle.</summary>
    public static IReadOnlyList<InkedBox> Ink
    {
        get
        {
            List<InkedBox> ink = [];
            for (int j = 0; j < Down; j++)
            {
                for (int i = 0; i < Across; i++)
                {
                    if ((i + j) % 2 == 0)
                    {
                        ink.Add(new(i - Across / 2.0, j - Down / 2.0, 1, 1));
                    }
                }
            }

            foreach ((int id, double x, double y) in MarkerPlaces)
            {
                ink.AddRange(Markers.Ink(id, x, y, Marker.Inches));
            }

            return ink;
        }
    }

    /// <summary>Each marker's number and middle, inches from the board's middle.</summary>
    internal static IEnumerable<(int Id, double X, double Y)> MarkerPlaces
    {
        get
        {
            int id = FirstId;
            for (int j = 0; j < Down; j++)
            {
                for (int i = 0; i < Across; i++)
                {
                    if ((i + j) % 2 == 1)
                    {
                        yield return (id++, i + 0.5 - Across / 2.0, j + 0.5 - Down / 2.0);
                    }
                }
            }
        }
    }

    /// <summary>The inner corners, row by row, inches from the board's middle.</summary>
    internal static IReadOnlyList<Point<ClothSpace>> Corners
    {
        get
        {
            List<Point<ClothSpace>> corners = [];
            for (int j = 1; j < Down; j++)
            {
                for (int i = 1; i < Across; i++)
                {
                    corners.Add(new(i - Across / 2.0, j - Down / 2.0));
                }
            }

            return corners;
        }
    }
}

/// <summary>The markers: 4 × 4 bits of OpenCV's dictionary DICT_4X4_100 in a black border of one module.</summary>
internal static class Markers
{
    private const int Bits = 4;

    /// <summary>The dictionary.</summary>
    public static Dictionary Dictionary => CvAruco.GetPredefinedDictionary(PredefinedDictionaryType.Dict4X4_100);

    /// <summary>Black of a marker: inches, the middle at (x, y); runs of a row are one box.</summary>
    public static IEnumerable<InkedBox> Ink(int id, double x, double y, double side)
    {
        bool[,] bits = BitsOf(id);
        const int Modules = Bits + 2;
        double m = side / Modules;
        for (int row = 0; row < Modules; row++)
        {
            int from = -1;
            for (int column = 0; column <= Modules; column++)
            {
                bool black =
                    column < Modules
                    && (row is 0 or Modules - 1 || column is 0 or Modules - 1 || !bits[row - 1, column - 1]);
                if (black && from < 0)
                {
                    from = column;
                }
                else if (!black && from >= 0)
                {
                    yield return new(x - side / 2 + from * m, y - side / 2 + row * m, (column - from) * m, m);
                    from = -1;
                }
            }
        }
    }

    /// <summary>White bits by row and column.</summary>
    public static bool[,] BitsOf(int id)
    {
        // A row of the list holds the four turns of a marker one after the other, each in two bytes, first bit highest.
        using Mat list = Dictionary.BytesList;
        bool[,] bits = new bool[Bits, Bits];
        for (int k = 0; k < Bits * Bits; k++)
        {
            byte b = list.At<Vec4b>(id, 0)[k / 8];
            bits[k / Bits, k % Bits] = (b >> (7 - k % 8) & 1) == 1;
        }

        return bits;
    }
}
