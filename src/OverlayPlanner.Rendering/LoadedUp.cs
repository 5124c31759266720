using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Rendering;

/// <summary>Which side of the quilt lies away from the person who stitches, as it was loaded.</summary>
public enum LoadedUp
{
    /// <summary>As it was mapped.</summary>
    Top,

    /// <summary>Bottom first: half a turn.</summary>
    Bottom,

    /// <summary>The left side: a quarter turn clockwise.</summary>
    Left,

    /// <summary>The right side: a quarter turn anticlockwise.</summary>
    Right,
}

/// <summary>A route as it lies on the frame, turned and, for tracing from the back, mirrored.</summary>
/// <param name="Route">The route in turned coordinates; lengths and ids are the same.</param>
/// <param name="TurnedFromQuilt">
/// From the quilt's own inches. Its shift is whole inches, so that rulers keep their ticks.
/// </param>
internal sealed record TurnedRoute(Route Route, Similarity<ClothSpace, ClothSpace> TurnedFromQuilt)
{
    /// <summary>Turns a route; unchanged where the quilt lies as it was mapped.</summary>
    public static TurnedRoute Of(Route route, LoadedUp up, bool mirror)
    {
        (double w, double h) = (
            Math.Ceiling(route.Quilt.Width.Inches - 1e-9),
            Math.Ceiling(route.Quilt.Height.Inches - 1e-9)
        );
        Similarity<ClothSpace, ClothSpace> map = up switch
        {
            LoadedUp.Bottom => new(-1, 0, w, h),
            LoadedUp.Left => new(0, 1, h, 0),
            LoadedUp.Right => new(0, -1, 0, w),
            _ => new(1, 0, 0, 0),
        };
        if (up is LoadedUp.Left or LoadedUp.Right)
        {
            (w, h) = (h, w);
        }

        if (mirror)
        {
            // x' = w − x.
            map = new Similarity<ClothSpace, ClothSpace>(-1, 0, w, 0, Mirrored: true).After(map);
        }

        if (up == LoadedUp.Top && !mirror)
        {
            return new(route, map);
        }

        QuiltMap q = route.Quilt;
        QuiltMap turned = new(
            Length.FromInches(w),
            Length.FromInches(h),
            [.. q.Junctions.Select(j => j with { At = j.At with { Value = map.Apply(j.Place) } })],
            [
                .. q.Seams.Select(s =>
                    !mirror
                        ? s
                        : s with
                        {
                            Bulge = -s.Bulge,
                            Ditch = s.Ditch switch
                            {
                                Side.Left => Side.Right,
                                Side.Right => Side.Left,
                                _ => null,
                            },
                        }
                ),
            ],
            q.Patches,
            [.. q.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(map.Apply)] })],
            q.Unknown
        );
        return new(route with { Quilt = turned, Candidates = [.. route.Candidates.Select(c => Turned(c, map))] }, map);
    }

    /// <summary>The candidate of the turned route.</summary>
    public RouteCandidate Turned(RouteCandidate candidate) => Turned(candidate, TurnedFromQuilt);

    private static RouteCandidate Turned(RouteCandidate candidate, Similarity<ClothSpace, ClothSpace> map) =>
        candidate with
        {
            Runs = [.. candidate.Runs.Select(r => r.Taken(m => m with { Path = map.Apply(m.Path) }, map.Apply))],
        };
}
