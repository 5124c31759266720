using OpenCvSharp;
using OpenCvSharp.Aruco;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The lattice of projected marks: one unit is a square's side, (0, 0) the field's top left corner, y down.</summary>
internal abstract class MarkSpace : ISpace
{
    private MarkSpace() { }
}

/// <summary>
/// Marks that a projector throws: a chessboard of light and dark squares with a marker in each light one. The places where four
/// squares meet are measured; the markers say which is which.
/// </summary>
/// <remarks>
/// Where four squares meet, light touches light over a point, so neither blur nor a brighter lamp moves it. The markers are of
/// another make than those on cards (6 × 6 bits, not 4 × 4), so that paper and light are told apart. Numbers start where the
/// picture's size, or the profile that it was thrown by, says: a field of another size has other numbers and is noticed.
/// </remarks>
/// <param name="Across">Squares across.</param>
/// <param name="Down">Squares down.</param>
/// <param name="FirstId">Number of the first marker; the others follow row by row.</param>
internal sealed record MarkField(int Across, int Down, int FirstId)
{
    /// <summary>Side of a marker, squares: leaves a fifth of a square clear about each measured corner.</summary>
    public const double MarkerSide = 0.6;

    /// <summary>Half of the window in which a corner is measured, squares: no marker reaches into it.</summary>
    public const double Window = 0.18;

    /// <summary>Fewest corners of a projector's pattern.</summary>
    public const int LeastCorners = 200;

    /// <summary>Markers that there are.</summary>
    public const int MostMarkers = 1000;

    private const int Bits = 6;
    private const int Modules = Bits + 2;

    private static readonly Lazy<bool[][,]> AllBits = new(ReadBits);

    /// <summary>The markers' dictionary.</summary>
    public static Dictionary Dictionary => CvAruco.GetPredefinedDictionary(PredefinedDictionaryType.Dict6X6_1000);

    /// <summary>Markers of this field.</summary>
    public int Markers => Across * Down / 2;

    /// <summary>Where four squares meet, row by row.</summary>
    public IReadOnlyList<Point<MarkSpace>> Corners =>
        [
            .. Enumerable
                .Range(1, Down - 1)
                .SelectMany(j => Enumerable.Range(1, Across - 1).Select(i => new Point<MarkSpace>(i, j))),
        ];

    /// <summary>The middle of a marker; null for a number that this field does not have.</summary>
    public Point<MarkSpace>? MiddleOf(int id)
    {
        int k = id - FirstId;
        if (k < 0 || k >= Markers)
        {
            return null;
        }

        // Light squares are those with an odd sum of row and column.
        int even = Across / 2;
        int pair = k / Across;
        int rest = k - pair * Across;
        (int row, int place) = rest < even ? (2 * pair, 2 * rest + 1) : (2 * pair + 1, 2 * (rest - even));
        return new Point<MarkSpace>(place + 0.5, row + 0.5);
    }

    /// <summary>A marker's corners, clockwise from its own top left.</summary>
    public static Point<MarkSpace>[] OutlineAt(Point<MarkSpace> middle)
    {
        const double H = MarkerSide / 2;
        return
        [
            new(middle.X - H, middle.Y - H),
            new(middle.X + H, middle.Y - H),
            new(middle.X + H, middle.Y + H),
            new(middle.X - H, middle.Y + H),
        ];
    }

    /// <summary>Whether a place is light; beyond the field it is dark.</summary>
    public bool IsLight(double x, double y)
    {
        int i = (int)Math.Floor(x);
        int j = (int)Math.Floor(y);
        if (i < 0 || j < 0 || i >= Across || j >= Down || (i + j) % 2 == 0)
        {
            return false;
        }

        int m = (int)Math.Floor(((x - i - 0.5) / MarkerSide + 0.5) * Modules);
        int n = (int)Math.Floor(((y - j - 0.5) / MarkerSide + 0.5) * Modules);
        if (m < 0 || n < 0 || m >= Modules || n >= Modules)
        {
            return true;
        }

        int id = FirstId + j / 2 * Across + (j % 2 == 0 ? i / 2 : Across / 2 + i / 2);
        return m is > 0 and < Modules - 1
            && n is > 0 and < Modules - 1
            && id < MostMarkers
            && AllBits.Value[id][n - 1, m - 1];
    }

    /// <summary>A number for the first marker that comes from what the field belongs to.</summary>
    public static int FirstIdFor(int markers, params ReadOnlySpan<double> what)
    {
        // FNV-1a over the numbers' bits, so that it is the same on every machine.
        ulong hash = 14695981039346656037;
        foreach (double v in what)
        {
            ulong bits = BitConverter.DoubleToUInt64Bits(v);
            for (int k = 0; k < 8; k++)
            {
                hash = (hash ^ ((bits >> (8 * k)) & 0xFF)) * 1099511628211;
            }
        }

        return (int)((hash ^ (hash >> 32)) % (ulong)Math.Max(1, MostMarkers - markers));
    }

    private static bool[][,] ReadBits()
    {
        // A row of the list holds the four turns of a marker one after the other, each in five bytes; the last byte's bits are its
        // lowest four.
        using Mat list = Dictionary.BytesList;
        bool[][,] all = new bool[MostMarkers][,];
        for (int id = 0; id < MostMarkers; id++)
        {
            all[id] = new bool[Bits, Bits];
            for (int k = 0; k < Bits * Bits; k++)
            {
                int at = k / 8;
                int inByte = Math.Min(8, Bits * Bits - 8 * at);
                byte b = list.At<Vec4b>(id, at / 4)[at % 4];
                all[id][k / Bits, k % Bits] = (b >> (inByte - 1 - k % 8) & 1) == 1;
            }
        }

        return all;
    }
}
