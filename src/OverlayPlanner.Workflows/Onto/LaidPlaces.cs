using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>Where the points of the known quilt and those of the photograph lie now, in one frame.</summary>
internal sealed class LaidPlaces
{
    /// <summary>Beyond the known area by more than piecing and draw-up make a point wander, inches.</summary>
    public const double Beyond = 0.5;

    private const double OnPoint = 0.05;
    private readonly QuiltMap known;
    private readonly QuiltMap seen;
    private readonly Registration way;
    private readonly ClothNow cloth;
    private readonly Dictionary<string, string> knownOfSeen = [];
    private readonly Dictionary<string, Estimate<Point<ClothSpace>>> places = [];

    public LaidPlaces(
        QuiltMap known,
        QuiltMap seen,
        Registration way,
        QuiltScene<SeenSpace> now,
        QuiltScene<ClothSpace> before,
        ClothNow cloth
    )
    {
        (this.known, this.seen, this.way, this.cloth) = (known, seen, way, cloth);
        foreach ((int s, int k) in way.Matches)
        {
            knownOfSeen[now.Junctions[s].Id] = before.Junctions[k].Id;
        }

        foreach (Junction j in known.Junctions)
        {
            places[j.Id] = cloth.Of(j);
        }
    }

    /// <summary>The known points by their ids.</summary>
    public IReadOnlyDictionary<string, Estimate<Point<ClothSpace>>> Places => places;

    /// <summary>True where a point of the photograph is a known one.</summary>
    public bool IsKnown(string seenJunction) => knownOfSeen.ContainsKey(seenJunction);

    /// <summary>A known block's corner: it goes where its point goes.</summary>
    public Point<ClothSpace> CornerNow(Point<ClothSpace> corner) =>
        known.Junctions.MinBy(j => j.Place.DistanceTo(corner)) is { } j && j.Place.DistanceTo(corner) < OnPoint
            ? places[j.Id].Value
            : cloth.Of(corner);

    private Point<ClothSpace> OnKnown(Point<ClothSpace> seenPlace) => way.KnownFromSeen(new(seenPlace.X, seenPlace.Y));

    /// <summary>A place of the photograph.</summary>
    public Point<ClothSpace> Now(Point<ClothSpace> seenPlace) =>
        cloth.Of(new Point<SeenSpace>(seenPlace.X, seenPlace.Y));

    /// <summary>How far a seen place lies outside the known area, inches; negative inside.</summary>
    public double Outside(Point<ClothSpace> seenPlace)
    {
        Point<ClothSpace> p = OnKnown(seenPlace);
        return Math.Max(Math.Max(-p.X, p.X - known.Width.Inches), Math.Max(-p.Y, p.Y - known.Height.Inches));
    }

    /// <summary>True for a seen place that is new cloth.</summary>
    public bool IsBeyond(Point<ClothSpace> seenPlace) => Outside(seenPlace) > Beyond;

    /// <summary>A point of the photograph: where it is known, its known place.</summary>
    public Point<ClothSpace> PlaceOf(string seenJunction) =>
        knownOfSeen.TryGetValue(seenJunction, out string? id)
            ? places[id].Value
            : Now(seen.JunctionOf(seenJunction).Place);

    /// <summary>A seen block's corner.</summary>
    public Point<ClothSpace> CornerOfSeen(Point<ClothSpace> corner) =>
        seen.Junctions.MinBy(j => j.Place.DistanceTo(corner)) is { } j && j.Place.DistanceTo(corner) < OnPoint
            ? PlaceOf(j.Id)
            : Now(corner);

    /// <summary>The middle of a known block.</summary>
    public Point<ClothSpace> MiddleNow(Block block) => cloth.Of(block.Corners[0].Toward(block.Corners[2], 0.5));

    /// <summary>Standard deviation of a place, by the nearest point, in a frame moved by <paramref name="home"/>.</summary>
    public Func<Point<ClothSpace>, Length> SigmaAt(Vector<ClothSpace> home)
    {
        (Point<ClothSpace> At, Length Sigma)[] all =
        [
            .. places.Values.Select(p => (p.Value + home, p.Sigma)),
            .. seen.Junctions.Select(j => (Now(j.Place) + home, j.At.Sigma)),
        ];
        return at => all.MinBy(p => p.At.DistanceTo(at)).Sigma;
    }
}
