using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>
/// Where the known quilt's places lie now, in inches that a ruler finds, in a frame that keeps to the old one: turned and
/// shifted the least, never scaled.
/// </summary>
internal sealed class ClothNow
{
    // What was not photographed again has drawn up by nobody knows what, within a few percent.
    private const double UnseenStretch = 0.03;

    private readonly Registration way;
    private readonly Box<ClothSpace> seenPart;
    private readonly Similarity<ClothSpace, SeenSpace> nowFromSeen;
    private readonly Dictionary<string, int> markOf = [];

    public ClothNow(Registration way, QuiltScene<ClothSpace> known)
    {
        this.way = way;
        Point<ClothSpace>[] places = [.. way.Matches.Select(m => known.Scene.Marks[m.Known].At)];
        seenPart = Box<ClothSpace>.Around(places).Grown(0.5);
        Similarity<ClothSpace, SeenSpace> fit = SimilarityFit.Solve<ClothSpace, SeenSpace>(
            [.. places.Select(way.SeenFromKnown.Apply)],
            places
        );
        (double a, double b) = (fit.A / fit.Scale, fit.B / fit.Scale);
        Point<SeenSpace> middle = way.SeenFromKnown.Apply(seenPart.Center);
        nowFromSeen = new(
            a,
            b,
            seenPart.Center.X - a * middle.X + b * middle.Y,
            seenPart.Center.Y - b * middle.X - a * middle.Y
        );
        for (int i = 0; i < known.Junctions.Count; i++)
        {
            markOf[known.Junctions[i].Id] = i;
        }
    }

    /// <summary>Degrees by which the new photograph's frame is turned against this one.</summary>
    public double TurnDegrees => Math.Atan2(nowFromSeen.B, nowFromSeen.A) * 180 / Math.PI;

    /// <summary>A place of the photograph.</summary>
    public Point<ClothSpace> Of(Point<SeenSpace> at) => nowFromSeen.Apply(at);

    /// <summary>True where the photograph shows this place of the known quilt.</summary>
    public bool Shows(Point<ClothSpace> known) => seenPart.Holds(known);

    /// <summary>A place of the known quilt; beyond the photograph it keeps its old distance from what is in it.</summary>
    public Point<ClothSpace> Of(Point<ClothSpace> known) => Of(known, Length.Zero).Value;

    /// <summary>A point of the known quilt.</summary>
    public Estimate<Point<ClothSpace>> Of(Junction junction)
    {
        if (markOf.TryGetValue(junction.Id, out int mark) && way.SeenMarkOf(mark) is not null)
        {
            Estimate<Point<SeenSpace>> place = way.PlaceOf(mark);
            return new(Of(place.Value), place.Sigma);
        }

        return Of(junction.Place, junction.At.Sigma);
    }

    private Estimate<Point<ClothSpace>> Of(Point<ClothSpace> known, Length sigma)
    {
        Point<ClothSpace> near = new(
            Math.Clamp(known.X, seenPart.Left, seenPart.Right),
            Math.Clamp(known.Y, seenPart.Top, seenPart.Bottom)
        );
        Estimate<Point<SeenSpace>> place = way.PlaceOf(near, sigma);
        Vector<ClothSpace> rest = known - near;
        double unsure = UnseenStretch * rest.Norm;
        return new(
            Of(place.Value) + rest,
            Length.FromInches(Math.Sqrt(place.Sigma.Inches * place.Sigma.Inches + unsure * unsure))
        );
    }
}
