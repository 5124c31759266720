using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How the cloth lies now against how it lay.</summary>
/// <param name="Turn">Degrees, positive to the right as seen on the page.</param>
/// <param name="Across">Change of length from left to right, percent; negative where it drew up.</param>
/// <param name="Down">Change of length from top to bottom, percent.</param>
/// <param name="LeastAcross">The smallest such change anywhere among the matched points.</param>
/// <param name="MostAcross">The largest.</param>
public readonly record struct ClothMotion(
    double Turn,
    double Across,
    double Down,
    double LeastAcross,
    double MostAcross
);

/// <summary>One way to lay a new photograph on a known quilt.</summary>
public sealed class Registration
{
    // Points this near to a side may lie beyond it.
    private const double SideInches = 0.4;
    private const double BeyondInches = 8;

    private const double MuchWider = 4;
    private const double LeastSpreadInches = 0.02;

    // Standard errors that part a proof from chance.
    private const double Clearly = 3;

    private readonly ClothScene<ClothSpace> known;
    private readonly ClothScene<SeenSpace> seen;
    private readonly StretchFit<ClothSpace, SeenSpace> knownFromSeen;
    private readonly Dictionary<int, int> seenOfKnown = [];
    private readonly Dictionary<int, int> knownOfSeen = [];
    private readonly double lack;

    internal Registration(
        ClothScene<ClothSpace> known,
        ClothScene<SeenSpace> seen,
        StretchFit<ClothSpace, SeenSpace> knownFromSeen,
        IReadOnlyList<(int Seen, int Known)> matched
    )
    {
        (this.known, this.seen, this.knownFromSeen) = (known, seen, knownFromSeen);
        foreach ((int s, int k) in matched)
        {
            seenOfKnown[k] = s;
            knownOfSeen[s] = k;
        }

        Matches = matched;
        MarkPair<SeenSpace, ClothSpace>[] pairs =
        [
            .. matched.Select(m => PairOf(known.Marks[m.Known], seen.Marks[m.Seen])),
        ];
        (SeenFromKnown, lack) = HeldOutStretch.Choose(pairs);
        Box<ClothSpace> inner = known.Area.Grown(-SideInches);
        Extra = Enumerable
            .Range(0, seen.Marks.Count)
            .Where(i => !knownOfSeen.ContainsKey(i))
            .Where(i => knownFromSeen.Apply(seen.Marks[i].At) is var at && (inner.Holds(at) || Beyond(known, at)))
            .ToHashSet();
        Box<SeenSpace> innerSeen = seen.Area.Grown(-SideInches);
        Missing = Enumerable
            .Range(0, known.Marks.Count)
            .Where(k => !seenOfKnown.ContainsKey(k))
            .Where(k => SeenFromKnown.Apply(known.Marks[k].At) is var at && (innerSeen.Holds(at) || Beyond(seen, at)))
            .ToHashSet();
    }

    /// <summary>Pairs of indices into the marks: seen, known.</summary>
    public IReadOnlyList<(int Seen, int Known)> Matches { get; }

    /// <summary>Where a known place lies now, in the new photograph's frame.</summary>
    public StretchFit<SeenSpace, ClothSpace> SeenFromKnown { get; }

    /// <summary>Seen points where the known quilt has none.</summary>
    public IReadOnlySet<int> Extra { get; }

    /// <summary>Known points where the photograph shows none.</summary>
    public IReadOnlySet<int> Missing { get; }

    /// <summary>Points that fit, of all where both show the cloth; 0 to 1.</summary>
    public double Share => (double)Matches.Count / (Matches.Count + Extra.Count + Missing.Count);

    /// <summary>Spread of the matched points about the smooth map, inches, root mean square of one axis.</summary>
    public double SpreadInches =>
        Math.Sqrt(
            Matches.Average(m =>
            {
                double d = SeenFromKnown.Apply(known.Marks[m.Known].At).DistanceTo(seen.Marks[m.Seen].At);
                return d * d / 2;
            })
        );

    /// <summary>How the cloth lies now.</summary>
    public ClothMotion Motion
    {
        get
        {
            (double sin, double cos) = Math.SinCos(SeenFromKnown.Turn);
            (double Across, double Down)[] local =
            [
                .. Matches.Select(m =>
                {
                    (double xx, double xy, double yx, double yy) = SeenFromKnown.DerivativeAt(known.Marks[m.Known].At);
                    return (cos * xx + sin * yx - 1, cos * yy - sin * xy - 1);
                }),
            ];
            return new(
                SeenFromKnown.Turn * 180 / Math.PI,
                100 * local.Average(l => l.Across),
                100 * local.Average(l => l.Down),
                100 * local.Min(l => l.Across),
                100 * local.Max(l => l.Across)
            );
        }
    }

    internal double Score => Matches.Count - 2 * (Extra.Count + Missing.Count);

    /// <summary>A seen place on the known quilt.</summary>
    public Point<ClothSpace> KnownFromSeen(Point<SeenSpace> at) => knownFromSeen.Apply(at);

    /// <summary>The seen mark that a known one is; null where it was not seen.</summary>
    public int? SeenMarkOf(int knownMark) => seenOfKnown.TryGetValue(knownMark, out int s) ? s : null;

    /// <summary>
    /// Where a known point lies now: the smooth map's answer, joined with the point's own place in the photograph where it was
    /// seen, each by its error.
    /// </summary>
    public Estimate<Point<SeenSpace>> PlaceOf(int knownMark)
    {
        ClothMark<ClothSpace> mark = known.Marks[knownMark];
        Estimate<Point<SeenSpace>> smooth = PlaceOf(mark.At, mark.Sigma);
        if (SeenMarkOf(knownMark) is not { } s)
        {
            return smooth;
        }

        ClothMark<SeenSpace> own = seen.Marks[s];
        double a = 1 / Square(Math.Max(smooth.Sigma.Inches, 1e-4));
        double b = 1 / Square(Math.Max(own.Sigma.Inches, 1e-4));
        return new(smooth.Value.Toward(own.At, b / (a + b)), Length.FromInches(1 / Math.Sqrt(a + b)));
    }

    /// <summary>Where any known place lies now by the smooth map, with what the map, the fit and the cloth's wilfulness leave open.</summary>
    public Estimate<Point<SeenSpace>> PlaceOf(Point<ClothSpace> at, Length sigma) =>
        new(
            SeenFromKnown.Apply(at),
            Length.FromInches(Math.Sqrt(Square(SeenFromKnown.SigmaAt(at)) + Square(sigma.Inches) + Square(lack)))
        );

    /// <summary>True where it lays an anchor on a known point with about this turn.</summary>
    internal bool Holds(int anchor, int on, double turn) =>
        Math.Abs(MarkDirections.Wrap(knownFromSeen.Turn - turn)) < 0.2
        && knownFromSeen.Apply(seen.Marks[anchor].At).DistanceTo(known.Marks[on].At) < 0.4;

    internal bool IsSameAs(Registration other)
    {
        int both = Matches.Count(m => other.knownOfSeen.TryGetValue(m.Seen, out int k) && k == m.Known);
        return 2 * both > Math.Min(Matches.Count, other.Matches.Count);
    }

    /// <summary>
    /// True where this way is proven against another by more than chance: points that fit here and contradict there, less those
    /// the other way round (Q. McNemar, 1947), or the patches' colours.
    /// </summary>
    internal bool Beats(Registration other)
    {
        int forThis = 0;
        int forOther = 0;
        for (int i = 0; i < seen.Marks.Count; i++)
        {
            forThis += knownOfSeen.ContainsKey(i) && other.Extra.Contains(i) ? 1 : 0;
            forOther += other.knownOfSeen.ContainsKey(i) && Extra.Contains(i) ? 1 : 0;
        }

        forThis += other.Missing.Count;
        forOther += Missing.Count;
        int more = forThis - forOther;
        return (more >= 4 && more > Clearly * Math.Sqrt(forThis + forOther))
            || FitsBetterThan(other)
            || IsTighterThan(other)
            || ColorAgreement.Prefers(ColorsOf(), other.ColorsOf());
    }

    // The shares that fit, as two proportions. Only for the way that explains more: one that shows a clean corner alone must not
    // win over one that lies where hands and clamps are in the picture too.
    private bool FitsBetterThan(Registration other)
    {
        if (Matches.Count < other.Matches.Count)
        {
            return false;
        }

        double n = Matches.Count / Share;
        double m = other.Matches.Count / other.Share;
        double all = (Matches.Count + other.Matches.Count) / (n + m);
        return Share - other.Share > Clearly * Math.Sqrt(all * (1 - all) * (1 / n + 1 / m)) && Share > other.Share;
    }

    // Points that are the same lie on each other but for their errors; those of a like pattern half a patch off do not.
    private bool IsTighterThan(Registration other) =>
        Matches.Count >= other.Matches.Count
        && other.SpreadInches > MuchWider * Math.Max(SpreadInches, LeastSpreadInches);

    private double?[] ColorsOf() => ColorAgreement.Distances(known, seen, knownFromSeen.Apply);

    private static bool Beyond<TSpace>(ClothScene<TSpace> scene, Point<TSpace> p)
        where TSpace : ISpace
    {
        Box<TSpace> a = scene.Area;
        bool inWidth = p.X > a.Left + SideInches && p.X < a.Right - SideInches;
        bool inHeight = p.Y > a.Top + SideInches && p.Y < a.Bottom - SideInches;
        return (inWidth && scene.Closed.HasFlag(ClosedSides.Top) && Off(a.Top - p.Y))
            || (inWidth && scene.Closed.HasFlag(ClosedSides.Bottom) && Off(p.Y - a.Bottom))
            || (inHeight && scene.Closed.HasFlag(ClosedSides.Left) && Off(a.Left - p.X))
            || (inHeight && scene.Closed.HasFlag(ClosedSides.Right) && Off(p.X - a.Right));

        static bool Off(double by) => by is > 2 * SideInches and < BeyondInches;
    }

    private static MarkPair<SeenSpace, ClothSpace> PairOf(ClothMark<ClothSpace> from, ClothMark<SeenSpace> to) =>
        new(from.At, to.At, Math.Max(Math.Sqrt(Square(from.Sigma.Inches) + Square(to.Sigma.Inches)), 0.002));

    private static double Square(double v) => v * v;
}
