using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Workflows;

/// <summary>
/// The known map as the cloth lies now, grown by what the photograph shows beyond it. What was known keeps ids and marks; where
/// nothing is new, its seams are the same ones, moved.
/// </summary>
internal sealed class GrownMap
{
    private const double OnCut = 0.15;
    private const double OneWithin = 0.06;
    private const double StubWithin = 0.25;

    private readonly QuiltMap known;
    private readonly QuiltMap seen;
    private readonly LaidPlaces laid;

    private GrownMap(QuiltMap known, QuiltMap seen, LaidPlaces laid) =>
        (this.known, this.seen, this.laid) = (known, seen, laid);

    public static (QuiltMap Map, IReadOnlyList<Finding> Findings) Of(
        QuiltMap known,
        QuiltMap seen,
        Registration way,
        QuiltScene<SeenSpace> now,
        QuiltScene<ClothSpace> before,
        ClothNow cloth
    )
    {
        GrownMap growing = new(known, seen, new(known, seen, way, now, before, cloth));
        List<Finding> findings = [];
        int unseen = known.Junctions.Count(j => !cloth.Shows(j.Place));
        if (unseen > 0)
        {
            findings.Add(
                new(
                    "part-not-in-photo",
                    string.Create(CultureInfo.InvariantCulture, $"{unseen} of {known.Junctions.Count} points"),
                    "They keep their old distances; photograph that part again before you plan on its inches."
                )
            );
        }

        QuiltMap moved = growing.Moved();
        Seam[] fresh = growing.FreshSeams();
        if (fresh.Length == 0)
        {
            return (AtOrigin(moved), findings);
        }

        QuiltMap grown = growing.Grown(moved, fresh);
        if (MapCheck.Inspect(grown).IsPlane)
        {
            return (AtOrigin(grown), findings);
        }

        findings.Add(
            new(
                "not-grown",
                string.Create(CultureInfo.InvariantCulture, $"{fresh.Length} new seams"),
                "They do not join the known ones without crossing; map the photograph by itself, or add them by hand."
            )
        );
        return (AtOrigin(moved), findings);
    }

    // The same seams and patches at their new places.
    private QuiltMap Moved() =>
        known.With(
            junctions: [.. known.Junctions.Select(j => j with { At = laid.Places[j.Id] })],
            // A shape on the cloth that was kept is older than this photograph.
            blocks:
            [
                .. known.Blocks.Select(b =>
                    OnClothField.Forget(b) with
                    {
                        Corners = [.. b.Corners.Select(laid.CornerNow)],
                    }
                ),
            ]
        );

    // Seams that reach beyond the known area, and those that run where it was cut; of the photograph's own outline, only what
    // is sewn.
    private Seam[] FreshSeams() => [.. seen.Seams.Where(s => s.Edge != EdgeKind.Cut && IsFresh(s))];

    private bool IsFresh(Seam s) =>
        laid.IsBeyond(seen.JunctionOf(s.From).Place)
        || laid.IsBeyond(seen.JunctionOf(s.To).Place)
        || (
            s.Role != SeamRole.Edge
            && laid.Outside(seen.EdgeOf(s).PointAt(0.5)) > -OnCut
            && !(laid.IsKnown(s.From) && laid.IsKnown(s.To))
        );

    private QuiltMap Grown(QuiltMap moved, Seam[] fresh)
    {
        Edge<ClothSpace>[] added =
        [
            .. fresh.Select(s => new Edge<ClothSpace>(laid.PlaceOf(s.From), laid.PlaceOf(s.To), s.Bulge)),
        ];
        Box<ClothSpace> box = Box<ClothSpace>.Around(moved.Junctions.Select(j => j.Place));
        Box<ClothSpace> all = Box<ClothSpace>.Around([
            .. moved.Junctions.Select(j => j.Place),
            .. new Point<ClothSpace>[]
            {
                new(0, 0),
                new(seen.Width.Inches, 0),
                new(seen.Width.Inches, seen.Height.Inches),
                new(0, seen.Height.Inches),
            }.Select(laid.Now),
            .. added.SelectMany(e => new[] { e.From, e.To }),
        ]);

        // A side over which nothing grew stays where it is.
        Box<ClothSpace> area = new(
            added.Min(e => Math.Min(e.From.X, e.To.X)) < box.Left - LaidPlaces.Beyond ? all.Left : box.Left,
            added.Min(e => Math.Min(e.From.Y, e.To.Y)) < box.Top - LaidPlaces.Beyond ? all.Top : box.Top,
            added.Max(e => Math.Max(e.From.X, e.To.X)) > box.Right + LaidPlaces.Beyond ? all.Right : box.Right,
            added.Max(e => Math.Max(e.From.Y, e.To.Y)) > box.Bottom + LaidPlaces.Beyond ? all.Bottom : box.Bottom
        );
        Vector<ClothSpace> home = Point<ClothSpace>.Origin - new Point<ClothSpace>(area.Left, area.Top);

        // The outline is straight while the map is built; its points go back to their places after.
        Dictionary<string, Point<ClothSpace>> straight = moved.Junctions.ToDictionary(j => j.Id, j => j.Place + home);
        foreach (Seam s in moved.Seams.Where(s => s.Role == SeamRole.Edge))
        {
            foreach (string id in new[] { s.From, s.To })
            {
                straight[id] = OnSide(known.JunctionOf(id).Place, straight[id], area, box);
            }
        }

        List<SeamLine> lines = [];
        foreach (Seam s in moved.Seams)
        {
            Edge<ClothSpace> edge = new(straight[s.From], straight[s.To], s.Bulge);
            bool stub = s.Role != SeamRole.Edge && EndsAtCut(s) && added.Any(a => Lies(edge, a, home));
            if (!stub && !(s.Role == SeamRole.Edge && (s.Edge == EdgeKind.Cut || OnOutline(edge, area))))
            {
                lines.Add(new(edge, s.Confidence));
            }
        }

        lines.AddRange(
            added.Zip(fresh, (e, s) => new SeamLine(new(e.From + home, e.To + home, e.Bulge), s.Confidence))
        );
        Block[] blocks = new GrownBlocks(known, seen, laid).Of(moved, home);
        QuiltMap built = MapBuilder.Build(
            Length.FromInches(area.Width),
            Length.FromInches(area.Height),
            lines,
            blocks,
            Length.FromInches(OneWithin),
            EdgeKind.Cut,
            laid.SigmaAt(home)
        );
        QuiltMap earlier = moved.With(
            junctions: [.. moved.Junctions.Select(j => j with { At = new(straight[j.Id], j.At.Sigma) })],
            blocks: [.. moved.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(c => c + home)] })]
        );
        QuiltMap carried = IdCarrier.Carry(built, earlier).Map;
        return Finished(carried, moved, home);
    }

    private QuiltMap Finished(QuiltMap carried, QuiltMap moved, Vector<ClothSpace> home)
    {
        Dictionary<string, Junction> by = moved.Junctions.ToDictionary(j => j.Id);
        Dictionary<string, Patch> patches = known.Patches.ToDictionary(p => p.Id);
        return carried.With(
            junctions:
            [
                .. carried.Junctions.Select(j =>
                    by.TryGetValue(j.Id, out Junction? m)
                        ? j with
                        {
                            At = new(m.Place + home, m.At.Sigma),
                            Unknown = m.Unknown,
                        }
                        : j
                ),
            ],
            patches:
            [
                .. carried.Patches.Select(p =>
                    p with
                    {
                        Color = patches.GetValueOrDefault(p.Id)?.Color ?? ColorAt(carried, p, home),
                    }
                ),
            ]
        );
    }

    private string? ColorAt(QuiltMap map, Patch patch, Vector<ClothSpace> home)
    {
        Point<ClothSpace> at = PatchFinder.InteriorPoint(map, patch);
        return seen
            .Patches.Select(p => (p.Color, Off: (laid.Now(PatchFinder.InteriorPoint(seen, p)) + home).DistanceTo(at)))
            .Where(p => p.Off < 1)
            .OrderBy(p => p.Off)
            .FirstOrDefault()
            .Color;
    }

    private bool EndsAtCut(Seam seam) =>
        known.Seams.Any(e =>
            e is { Role: SeamRole.Edge, Edge: EdgeKind.Cut }
            && (e.From == seam.From || e.To == seam.From || e.From == seam.To || e.To == seam.To)
        );

    private static bool Lies(Edge<ClothSpace> piece, Edge<ClothSpace> on, Vector<ClothSpace> home)
    {
        Edge<ClothSpace> there = new(on.From + home, on.To + home, on.Bulge);
        return there.Nearest(piece.From).Distance < StubWithin
            && there.Nearest(piece.To).Distance < StubWithin
            && there.Nearest(piece.PointAt(0.5)).Distance < StubWithin;
    }

    private static bool OnOutline(Edge<ClothSpace> edge, Box<ClothSpace> area)
    {
        Point<ClothSpace> m = edge.PointAt(0.5);
        return Math.Min(Math.Min(m.X, area.Width - m.X), Math.Min(m.Y, area.Height - m.Y)) < OneWithin;
    }

    // A point of the outline onto the straight side that it belongs to, in the frame that begins at the area's corner.
    private Point<ClothSpace> OnSide(
        Point<ClothSpace> old,
        Point<ClothSpace> at,
        Box<ClothSpace> area,
        Box<ClothSpace> box
    )
    {
        const double near = 0.02;
        double x =
            old.X < near ? box.Left - area.Left
            : old.X > known.Width.Inches - near ? box.Right - area.Left
            : at.X;
        double y =
            old.Y < near ? box.Top - area.Top
            : old.Y > known.Height.Inches - near ? box.Bottom - area.Top
            : at.Y;
        return new(x, y);
    }

    // The origin is the mapped area's top left.
    private static QuiltMap AtOrigin(QuiltMap map)
    {
        Box<ClothSpace> box = Box<ClothSpace>.Around(map.Junctions.Select(j => j.Place));
        Vector<ClothSpace> home = Point<ClothSpace>.Origin - new Point<ClothSpace>(box.Left, box.Top);
        return new(
            Length.FromInches(box.Width),
            Length.FromInches(box.Height),
            [.. map.Junctions.Select(j => j with { At = new(j.Place + home, j.At.Sigma) })],
            map.Seams,
            map.Patches,
            [.. map.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(c => c + home)] })],
            map.Unknown
        );
    }
}
