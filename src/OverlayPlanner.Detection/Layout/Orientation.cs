namespace OverlayPlanner.Detection.Layout;

/// <summary>One of the eight ways in which a square lies: mirrored left to right or not, then turned clockwise.</summary>
/// <param name="Turn">Quarter turns clockwise, 0 to 3.</param>
/// <param name="Mirror">Mirrored left to right before the turn.</param>
internal readonly record struct Orientation(int Turn, bool Mirror)
{
    /// <summary>All eight, the plainest first.</summary>
    public static IReadOnlyList<Orientation> All { get; } =
    [.. new[] { false, true }.SelectMany(m => Enumerable.Range(0, 4).Select(t => new Orientation(t, m)))];

    /// <summary>Where a point of the unit square goes.</summary>
    public (double X, double Y) Apply((double X, double Y) p)
    {
        (double x, double y) = Mirror ? (1 - p.X, p.Y) : p;
        for (int i = 0; i < Turn; i++)
        {
            (x, y) = (1 - y, x);
        }

        return (x, y);
    }

    /// <summary>Where a point of the unit square came from.</summary>
    public (double X, double Y) Undo((double X, double Y) p)
    {
        (double x, double y) = p;
        for (int i = 0; i < Turn; i++)
        {
            (x, y) = (y, 1 - x);
        }

        return (Mirror ? 1 - x : x, y);
    }

    /// <summary>The way in which a thing lies that lies so in what lies <paramref name="first"/>: first that, then this.</summary>
    public Orientation After(Orientation first)
    {
        // A turn before a mirror is the opposite turn after it.
        int turn = Mirror ? Turn - first.Turn : Turn + first.Turn;
        return new((turn % 4 + 4) % 4, Mirror ^ first.Mirror);
    }
}
