using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Designs;

/// <summary>How one patch lies on another with as many corners: corner i on corner i + offset, or on offset − i.</summary>
internal readonly record struct Alignment(int Offset, bool Mirrored)
{
    /// <summary>The corner on which a corner comes to lie.</summary>
    public int CornerOf(int corner, int count) =>
        Mirrored ? (Offset - corner + 2 * count) % count : (corner + Offset) % count;

    /// <summary>The side on which a side comes to lie; side i runs from corner i to corner i + 1.</summary>
    public int SideOf(int side, int count) =>
        Mirrored ? (Offset - side - 1 + 2 * count) % count : (side + Offset) % count;
}

/// <summary>Patches sorted by shape and size; mirror images are alike.</summary>
/// <remarks>
/// Each class has its first patch as the model, and every patch of it lies on that model within the tolerance, so sewn
/// patches that differ by an eighth of an inch are still alike. Time is the patches times the classes of as many corners.
/// </remarks>
internal sealed class LikeShapes
{
    // Sewn blocks differ by up to 1/8 in at each of a side's two ends (handbook 10: commonly accepted), drafts by nothing.
    private const double SewnInches = 0.25;
    private const double SewnShare = 0.15;
    private const double SewnTurn = 8 * Math.PI / 180;
    private const double DraftInches = 0.002;
    private const double DraftTurn = 0.002;

    private readonly IReadOnlyList<PatchShape> shapes;
    private readonly bool isMeasured;
    private readonly int[] classOf;
    private readonly Alignment[] onModel;
    private readonly List<(int Model, IReadOnlyList<Alignment> Self)> classes = [];

    /// <param name="shapes">The patches.</param>
    /// <param name="which">Indices of those to sort; the others belong to no class.</param>
    /// <param name="isMeasured">True for cloth, false for a draft.</param>
    public LikeShapes(IReadOnlyList<PatchShape> shapes, IEnumerable<int> which, bool isMeasured)
    {
        this.shapes = shapes;
        this.isMeasured = isMeasured;
        classOf = new int[shapes.Count];
        onModel = new Alignment[shapes.Count];
        Array.Fill(classOf, -1);
        Dictionary<int, List<int>> byCorners = [];
        foreach (int s in which)
        {
            if (!byCorners.TryGetValue(shapes[s].Corners.Count, out List<int>? known))
            {
                byCorners[shapes[s].Corners.Count] = known = [];
            }

            foreach (int c in known)
            {
                if (First(s, classes[c].Model) is { } lay)
                {
                    (classOf[s], onModel[s]) = (c, lay);
                    break;
                }
            }

            if (classOf[s] < 0)
            {
                known.Add(classes.Count);
                (classOf[s], onModel[s]) = (classes.Count, new(0, false));
                classes.Add((s, All(s, s)));
            }
        }
    }

    /// <summary>Number of classes.</summary>
    public int Count => classes.Count;

    /// <summary>A patch's class, or −1.</summary>
    public int ClassOf(int shape) => classOf[shape];

    /// <summary>The patch that a class is measured by.</summary>
    public int ModelOf(int ofClass) => classes[ofClass].Model;

    /// <summary>How a patch lies on its class's model.</summary>
    public Alignment OnModel(int shape) => onModel[shape];

    /// <summary>The ways in which a class's model lies on itself, the plain one first.</summary>
    public IReadOnlyList<Alignment> SelfOf(int ofClass) => classes[ofClass].Self;

    /// <summary>
    /// One name for a line from corner to corner wherever it lies in like patches; its bow is 1 to the left of the way from
    /// the first corner to the second, 0 for a straight line.
    /// </summary>
    public (int Class, int I, int K, int Bow) NameOf(int shape, int i, int k, int bow)
    {
        int n = shapes[shape].Corners.Count;
        Alignment lay = onModel[shape];
        (int a, int b, int w) = (lay.CornerOf(i, n), lay.CornerOf(k, n), lay.Mirrored ? -bow : bow);
        (int, int, int, int) best = (int.MaxValue, 0, 0, 0);
        foreach (Alignment self in classes[classOf[shape]].Self)
        {
            (int p, int q, int v) = (self.CornerOf(a, n), self.CornerOf(b, n), self.Mirrored ? -w : w);
            (int, int, int, int) one = (classOf[shape], p, q, v);
            (int, int, int, int) other = (classOf[shape], q, p, -v);
            best = one.CompareTo(best) < 0 ? one : best;
            best = other.CompareTo(best) < 0 ? other : best;
        }

        return best;
    }

    private Alignment? First(int a, int b)
    {
        foreach (Alignment lay in Tried(shapes[a].Corners.Count))
        {
            if (Lies(shapes[a], shapes[b], lay))
            {
                return lay;
            }
        }

        return null;
    }

    private Alignment[] All(int a, int b) =>
        [.. Tried(shapes[a].Corners.Count).Where(l => Lies(shapes[a], shapes[b], l))];

    private static IEnumerable<Alignment> Tried(int corners)
    {
        foreach (bool mirrored in new[] { false, true })
        {
            for (int o = 0; o < corners; o++)
            {
                yield return new(o, mirrored);
            }
        }
    }

    private bool Lies(PatchShape a, PatchShape b, Alignment lay)
    {
        int n = a.Corners.Count;

        // What lies inside a patch is not compared, so a patch with holes is like no other.
        if (!ReferenceEquals(a, b) && (a.HoleEdges.Count > 0 || b.HoleEdges.Count > 0))
        {
            return false;
        }

        for (int i = 0; i < n; i++)
        {
            int k = lay.SideOf(i, n);
            double chord = a.Sides[i].Chord;
            double most = isMeasured ? Math.Min(SewnInches, SewnShare * chord) : DraftInches;
            if (
                Math.Abs(chord - b.Sides[k].Chord) > most
                || Math.Abs(a.Sides[i].RiseInside - b.Sides[k].RiseInside) > most
                || Math.Abs(a.Angles[i] - b.Angles[lay.CornerOf(i, n)]) > (isMeasured ? SewnTurn : DraftTurn)
            )
            {
                return false;
            }
        }

        return true;
    }
}
