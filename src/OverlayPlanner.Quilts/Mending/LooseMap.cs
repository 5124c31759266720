using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>
/// A map taken apart for one edit: points and seams that can be moved, split and joined, each side of a seam labelled with the
/// patch that it bordered. <see cref="LooseMapAssembly"/> makes a map of it again.
/// </summary>
/// <remarks>Taking apart and scanning are O(map); nothing else is more than what it touches.</remarks>
internal sealed class LooseMap
{
    /// <summary>Points closer than this are one to a needle; as <see cref="MapCheck"/> has it, in inches.</summary>
    public const double Hair = MapCheck.OneWithinInches;

    private int added;
    private Length? sigma;

    public LooseMap(QuiltMap map)
    {
        Map = map;
        Points = new(map.Junctions.Count + 16);
        Seams = new(map.Seams.Count + 16);
        Dictionary<string, LoosePoint> byId = new(map.Junctions.Count);
        foreach (Junction j in map.Junctions)
        {
            LoosePoint p = new(j, j.Place, j.At.Sigma);
            Points.Add(p);
            byId[j.Id] = p;
        }

        Dictionary<string, LooseSeam> seamById = new(map.Seams.Count);
        foreach (Seam s in map.Seams)
        {
            LooseSeam seam = new(new(s.Id, Seams.Count), s, byId[s.From], byId[s.To], s.Bulge);
            seamById[s.Id] = seam;
            Attach(seam);
        }

        for (int p = 0; p < map.Patches.Count; p++)
        {
            LabelRing(seamById, map.Patches[p].Seams, p, inside: true);
            foreach (IReadOnlyList<string> hole in map.Patches[p].Holes)
            {
                LabelRing(seamById, hole, p, inside: false);
            }
        }

        Box<ClothSpace> area = new(0, 0, map.Width.Inches, map.Height.Inches);
        foreach (Junction j in map.Junctions)
        {
            area = area.With(j.Place);
        }

        Area = area;
    }

    /// <summary>The map as it was.</summary>
    public QuiltMap Map { get; }

    /// <summary>Where seams may run.</summary>
    public Box<ClothSpace> Area { get; }

    public List<LoosePoint> Points { get; }

    public List<LooseSeam> Seams { get; }

    /// <summary>Indices of the patches that have to be found again.</summary>
    public HashSet<int> Dirty { get; } = [];

    public IEnumerable<LooseSeam> LiveSeams => Seams.Where(s => !s.IsGone);

    public IEnumerable<LoosePoint> LivePoints => Points.Where(p => !p.IsGone);

    /// <summary>The loose seam of a seam of the map.</summary>
    public LooseSeam Of(Seam seam) => Seams[Map.SeamIndexOf(seam.Id)];

    /// <summary>The loose point of a junction of the map.</summary>
    public LoosePoint Of(Junction junction) => Points.First(p => p.Source == junction);

    /// <summary>The rank of the next seam that is added.</summary>
    public int NextRank() => Map.Seams.Count + ++added;

    public LoosePoint AddPoint(Point<ClothSpace> place)
    {
        // A hand is no surer than the picture was.
        sigma ??= Map.Junctions.Count == 0 ? Length.Zero : Map.Junctions.Max(j => j.At.Sigma);
        LoosePoint p = new(null, place, sigma.Value);
        Points.Add(p);
        return p;
    }

    /// <summary>Adds a seam whose sides' patches are not known yet.</summary>
    public LooseSeam AddSeam(
        SeamOrigin origin,
        LoosePoint from,
        LoosePoint to,
        double bulge,
        double begins,
        double ends
    )
    {
        Seam template = new("", "", "", 0, BlockSides.RoleOf(Map.Blocks, new(from.Place, to.Place, bulge)));
        LooseSeam seam = new(origin, template, from, to, bulge)
        {
            Begins = begins,
            Ends = ends,
            Left = LooseSeam.Unknown,
            Right = LooseSeam.Unknown,
            IsReshaped = true,
        };
        Attach(seam);
        return seam;
    }

    /// <summary>Splits a seam at a fraction of its length; the first piece stays the seam, the second is new.</summary>
    /// <param name="middle">The point to split at; null for a new one on the seam.</param>
    public LoosePoint Split(LooseSeam seam, double t, LoosePoint? middle = null)
    {
        Edge<ClothSpace> path = seam.Path;
        Touch(seam);
        if (middle is null)
        {
            middle = AddPoint(path.PointAt(t));
            middle.Sigma = seam.From.Sigma + (seam.To.Sigma - seam.From.Sigma) * t;
        }

        double at = seam.Begins + (seam.Ends - seam.Begins) * t;
        LooseSeam rest = new(seam.Origin, seam.Template, middle, seam.To, Part(path, t, 1))
        {
            Begins = at,
            Ends = seam.Ends,
            Left = seam.Left,
            Right = seam.Right,
            IsReshaped = seam.IsReshaped,
            IsPiece = true,
        };
        seam.IsPiece = true;
        seam.To.Seams.Remove(seam);
        seam.To = middle;
        seam.Ends = at;
        seam.Bulge = Part(path, 0, t);
        middle.Seams.Add(seam);
        Attach(rest);
        return middle;
    }

    public void Remove(LooseSeam seam)
    {
        Touch(seam);
        seam.IsGone = true;
        foreach (LoosePoint p in new[] { seam.From, seam.To })
        {
            p.Seams.Remove(seam);
            p.IsGone |= p.Seams.Count == 0;
        }
    }

    /// <summary>Leads a seam's end to another point.</summary>
    public void Lead(LooseSeam seam, LoosePoint end, LoosePoint to)
    {
        Touch(seam);
        end.Seams.Remove(seam);
        end.IsGone |= end.Seams.Count == 0;
        if (seam.From == end)
        {
            seam.From = to;
        }
        else
        {
            seam.To = to;
        }

        to.Seams.Add(seam);
        to.IsGone = false;
        seam.IsReshaped = true;
        seam.Moved();
    }

    /// <summary>Puts a point elsewhere; its seams follow.</summary>
    public void Move(LoosePoint point, Point<ClothSpace> to)
    {
        point.Place = to;
        foreach (LooseSeam s in point.Seams)
        {
            Touch(s);
            s.IsReshaped = true;
            s.Moved();
        }
    }

    /// <summary>Notes that the patches on both sides of a seam have to be found again.</summary>
    public void Touch(LooseSeam seam)
    {
        if (seam.Left >= 0)
        {
            Dirty.Add(seam.Left);
        }

        if (seam.Right >= 0)
        {
            Dirty.Add(seam.Right);
        }
    }

    /// <summary>The nearest point within a distance, or null.</summary>
    public LoosePoint? PointNear(Point<ClothSpace> place, double within, Func<LoosePoint, bool>? which = null)
    {
        LoosePoint? best = null;
        foreach (LoosePoint p in Points)
        {
            double d = Math.Abs(p.Place.X - place.X) > within ? double.PositiveInfinity : p.Place.DistanceTo(place);
            if (d <= within && !p.IsGone && which?.Invoke(p) != false)
            {
                (best, within) = (p, d);
            }
        }

        return best;
    }

    /// <summary>The nearest seam within a distance and where on it, or null.</summary>
    public (LooseSeam Seam, double T, double Distance)? SeamNear(
        Point<ClothSpace> place,
        double within,
        Func<LooseSeam, bool>? which = null
    )
    {
        (LooseSeam, double, double)? best = null;
        foreach (LooseSeam s in Seams)
        {
            if (s.IsGone || !s.Bounds.Grown(within + 1e-9).Holds(place) || which?.Invoke(s) == false)
            {
                continue;
            }

            (double t, double d) = s.Path.Nearest(place);
            if (d <= within)
            {
                (best, within) = ((s, t, d), d);
            }
        }

        return best;
    }

    private static double Part(Edge<ClothSpace> path, double t0, double t1) =>
        path.IsLine ? 0 : Math.Tan((t1 - t0) * path.Sweep / 4);

    // Clockwise as seen, an outer ring has its patch to the right and a hole's ring to the left.
    private static void LabelRing(
        Dictionary<string, LooseSeam> byId,
        IReadOnlyList<string> ring,
        int patch,
        bool inside
    )
    {
        LooseSeam[] seams = new LooseSeam[ring.Count];
        for (int i = 0; i < seams.Length; i++)
        {
            seams[i] = byId[ring[i]];
        }

        bool forward = Closes(seams, seams[0].From);
        bool backward = Closes(seams, seams[0].To);
        if (!forward && !backward)
        {
            throw new InputException(
                "A patch's seams do not lead on from one to the next and back to the start",
                $"seams {string.Join(", ", ring)}",
                "List the seams round the patch in clockwise order."
            );
        }

        // Two seams between the same two points could be walked either way.
        forward = forward && (!backward || ClockwiseArea(seams, seams[0].From) >= ClockwiseArea(seams, seams[0].To));
        LoosePoint at = forward ? seams[0].From : seams[0].To;
        foreach (LooseSeam seam in seams)
        {
            if (seam.From == at == inside)
            {
                seam.Right = patch;
            }
            else
            {
                seam.Left = patch;
            }

            at = seam.Other(at);
        }
    }

    private static bool Closes(LooseSeam[] ring, LoosePoint start)
    {
        LoosePoint at = start;
        foreach (LooseSeam seam in ring)
        {
            if (seam.From != at && seam.To != at)
            {
                return false;
            }

            at = seam.Other(at);
        }

        return at == start;
    }

    private static double ClockwiseArea(LooseSeam[] ring, LoosePoint start)
    {
        double area = 0;
        LoosePoint at = start;
        foreach (LooseSeam seam in ring)
        {
            Edge<ClothSpace> e = seam.From == at ? seam.Path : seam.Path.Reversed;
            area += (e.From - start.Place).Cross(e.To - start.Place) / 2 + e.SegmentArea;
            at = seam.Other(at);
        }

        return area;
    }

    private void Attach(LooseSeam seam)
    {
        Seams.Add(seam);
        seam.From.Seams.Add(seam);
        seam.To.Seams.Add(seam);
        seam.From.IsGone = seam.To.IsGone = false;
    }
}
