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
    // Beyond the known area by more than piecing and draw-up make a point wander.
    private const double Beyond = 0.5;
    private const double OnCut = 0.15;
    private const double OneWithin = 0.06;
    private const double StubWithin = 0.25;

    private readonly QuiltMap known;
    private readonly QuiltMap seen;
    private readonly Registration way;
    private readonly ClothNow cloth;
    private readonly Dictionary<string, string> knownOfSeen = [];
    private readonly Dictionary<string, Estimate<Point<ClothSpace>>> places = [];

    private GrownMap(
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

    public static (QuiltMap Map, IReadOnlyList<Finding> Findings) Of(
        QuiltMap known,
        QuiltMap seen,
        Registration way,
        QuiltScene<SeenSpace> now,
        QuiltScene<ClothSpace> before,
        ClothNow cloth
    )
    {
        GrownMap growing = new(known, seen, way, now, before, cloth);
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
            junctions: [.. known.Junctions.Select(j => j with { At = places[j.Id] })],
            blocks: [.. known.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(CornerNow)] })]
        );

    // A block's corner goes where its point goes.
    private Point<ClothSpace> CornerNow(Point<ClothSpace> corner) =>
        known.Junctions.MinBy(j => j.Place.DistanceTo(corner)) is { } j && j.Place.DistanceTo(corner) < 0.05
            ? places[j.Id].Value
            : cloth.Of(corner);

    private Point<ClothSpace> OnKnown(Point<ClothSpace> seenPlace) => way.KnownFromSeen(new(seenPlace.X, seenPlace.Y));

    private Point<ClothSpace> Now(Point<ClothSpace> seenPlace) =>
        cloth.Of(new Point<SeenSpace>(seenPlace.X, seenPlace.Y));

    // How far a seen place lies outside the known area; negative inside.
    private double Outside(Point<ClothSpace> seenPlace)
    {
        Point<ClothSpace> p = OnKnown(seenPlace);
        return Math.Max(Math.Max(-p.X, p.X - known.Width.Inches), Math.Max(-p.Y, p.Y - known.Height.Inches));
    }

    private bool IsBeyond(Point<ClothSpace> seenPlace) => Outside(seenPlace) > Beyond;

    // Seams that reach beyond the known area, and those that run where it was cut; of the photograph's own outline, only what
    // is sewn.
    private Seam[] FreshSeams() => [.. seen.Seams.Where(s => s.Edge != EdgeKind.Cut && IsFresh(s))];

    private bool IsFresh(Seam s) =>
        IsBeyond(seen.JunctionOf(s.From).Place)
        || IsBeyond(seen.JunctionOf(s.To).Place)
        || (
            s.Role != SeamRole.Edge
            && Outside(seen.EdgeOf(s).PointAt(0.5)) > -OnCut
            && !(knownOfSeen.ContainsKey(s.From) && knownOfSeen.ContainsKey(s.To))
        );

    private Point<ClothSpace> PlaceOf(string seenJunction) =>
        knownOfSeen.TryGetValue(seenJunction, out string? id)
            ? places[id].Value
            : Now(seen.JunctionOf(seenJunction).Place);

    private QuiltMap Grown(QuiltMap moved, Seam[] fresh)
    {
        Edge<ClothSpace>[] added =
        [
            .. fresh.Select(s => new Edge<ClothSpace>(PlaceOf(s.From), PlaceOf(s.To), s.Bulge)),
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
            }.Select(Now),
            .. added.SelectMany(e => new[] { e.From, e.To }),
        ]);

        // A side over which nothing grew stays where it is.
        Box<ClothSpace> area = new(
            added.Min(e => Math.Min(e.From.X, e.To.X)) < box.Left - Beyond ? all.Left : box.Left,
            added.Min(e => Math.Min(e.From.Y, e.To.Y)) < box.Top - Beyond ? all.Top : box.Top,
            added.Max(e => Math.Max(e.From.X, e.To.X)) > box.Right + Beyond ? all.Right : box.Right,
            added.Max(e => Math.Max(e.From.Y, e.To.Y)) > box.Bottom + Beyond ? all.Bottom : box.Bottom
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
        Block[] blocks = Blocks(moved, home);
        QuiltMap built = MapBuilder.Build(
            Length.FromInches(area.Width),
            Length.FromInches(area.Height),
            lines,
            blocks,
            Length.FromInches(OneWithin),
            EdgeKind.Cut,
            SigmaAt(home)
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
            .Patches.Select(p => (p.Color, Off: (Now(PatchFinder.InteriorPoint(seen, p)) + home).DistanceTo(at)))
            .Where(p => p.Off < 1)
            .OrderBy(p => p.Off)
            .FirstOrDefault()
            .Color;
    }

    private Func<Point<ClothSpace>, Length> SigmaAt(Vector<ClothSpace> home)
    {
        (Point<ClothSpace> At, Length Sigma)[] all =
        [
            .. places.Values.Select(p => (p.Value + home, p.Sigma)),
            .. seen.Junctions.Select(j => (Now(j.Place) + home, j.At.Sigma)),
        ];
        return at => all.MinBy(p => p.At.DistanceTo(at)).Sigma;
    }

    private Block[] Blocks(QuiltMap moved, Vector<ClothSpace> home)
    {
        List<Block> blocks =
        [
            .. moved.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(c => c + home)], Patches = [] }),
        ];
        Block? anchor = null;
        Block? same = null;
        List<Block> added = [];
        foreach (Block b in seen.Blocks)
        {
            Point<ClothSpace> middle = Now(b.Corners[0].Toward(b.Corners[2], 0.5)) + home;
            if (blocks.Find(o => o.Corners[0].Toward(o.Corners[2], 0.5).DistanceTo(middle) < 2) is { } there)
            {
                (anchor, same) = b.Row is not null && there.Row is not null ? (b, there) : (anchor, same);
                continue;
            }

            if (IsBeyond(b.Corners[0]) || IsBeyond(b.Corners[2]))
            {
                added.Add(b);
            }
        }

        int last = Math.Max(
            LastBlock(),
            known
                .Blocks.Select(b =>
                    b.Id.Length > 1
                    && int.TryParse(b.Id.AsSpan(1), NumberStyles.None, CultureInfo.InvariantCulture, out int n)
                        ? n
                        : 0
                )
                .DefaultIfEmpty(0)
                .Max()
        );
        foreach (Block b in added)
        {
            // Where no whole block is in both, the nearest known one tells by its distance.
            (int? row, int? column) = anchor is null
                ? ByDistance(b)
                : (b.Row - anchor.Row + same?.Row, b.Column - anchor.Column + same?.Column);
            last++;
            blocks.Add(
                b with
                {
                    Id = string.Create(CultureInfo.InvariantCulture, $"b{last}"),
                    Corners = [.. b.Corners.Select(c => CornerOfSeen(c) + home)],
                    Row = row,
                    Column = column,
                    Patches = [],
                }
            );
        }

        int up = Math.Min(blocks.Min(b => b.Row) ?? 0, 0);
        int leftward = Math.Min(blocks.Min(b => b.Column) ?? 0, 0);
        return [.. blocks.Select(b => b with { Row = b.Row - up, Column = b.Column - leftward })];
    }

    // Row and column of a new block of a straight setting; null on point, where rows lie half a diagonal apart.
    private (int? Row, int? Column) ByDistance(Block added)
    {
        Point<ClothSpace> middle = Now(added.Corners[0].Toward(added.Corners[2], 0.5));
        Block? near = known
            .Blocks.Where(k => k.Row is not null && k.Column is not null)
            .MinBy(k => MiddleNow(k).DistanceTo(middle));
        if (near is null)
        {
            return (null, null);
        }

        Vector<ClothSpace> across = CornerNow(near.Corners[1]) - CornerNow(near.Corners[0]);
        Vector<ClothSpace> down = CornerNow(near.Corners[3]) - CornerNow(near.Corners[0]);
        if (Math.Abs(across.Y) > across.Norm / 4)
        {
            return (null, null);
        }

        Vector<ClothSpace> by = middle - MiddleNow(near);
        return (
            near.Row + (int)Math.Round(by.Dot(down) / down.Dot(down)),
            near.Column + (int)Math.Round(by.Dot(across) / across.Dot(across))
        );
    }

    private Point<ClothSpace> MiddleNow(Block block) => cloth.Of(block.Corners[0].Toward(block.Corners[2], 0.5));

    private Point<ClothSpace> CornerOfSeen(Point<ClothSpace> corner) =>
        seen.Junctions.MinBy(j => j.Place.DistanceTo(corner)) is { } j && j.Place.DistanceTo(corner) < 0.05
            ? PlaceOf(j.Id)
            : Now(corner);

    private int LastBlock() =>
        known.Unknown.Values.TryGetValue("lastIds", out JsonElement last)
        && last.ValueKind == JsonValueKind.Object
        && last.TryGetProperty("b", out JsonElement b)
        && b.TryGetInt32(out int n)
            ? n
            : 0;

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
