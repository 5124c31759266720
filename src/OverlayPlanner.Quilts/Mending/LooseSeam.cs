using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Where a seam of a map that is being mended comes from; its pieces share the id with suffixes.</summary>
internal sealed class SeamOrigin(string? id, int rank)
{
    /// <summary>Id that it had, or that it shall have; null for a fresh one.</summary>
    public string? Id { get; } = id;

    /// <summary>Its place in the map's list; new ones come last.</summary>
    public int Rank { get; } = rank;
}

/// <summary>A seam, or a piece of one, of a map that is being mended.</summary>
internal sealed class LooseSeam(SeamOrigin origin, Seam template, LoosePoint from, LoosePoint to, double bulge)
{
    private Box<ClothSpace>? bounds;
    private double bulge = bulge;

    /// <summary>Label of a side that borders no patch.</summary>
    public const int Outside = -1;

    /// <summary>Label of a side whose patch is not known yet.</summary>
    public const int Unknown = -2;

    public SeamOrigin Origin { get; } = origin;

    /// <summary>Role, edge, ditch, confidence and unknown fields; its id, ends and bulge mean nothing.</summary>
    public Seam Template { get; set; } = template;

    public LoosePoint From { get; set; } = from;

    public LoosePoint To { get; set; } = to;

    public double Bulge
    {
        get => bulge;
        set
        {
            bulge = value;
            Moved();
        }
    }

    /// <summary>Where along its origin it begins, 0 to 1; orders the pieces.</summary>
    public double Begins { get; set; }

    /// <summary>Where along its origin it ends.</summary>
    public double Ends { get; set; } = 1;

    /// <summary>Index of the patch to the left of travel as it was, or <see cref="Outside"/> or <see cref="Unknown"/>.</summary>
    public int Left { get; set; } = Outside;

    /// <summary>Index of the patch to the right of travel.</summary>
    public int Right { get; set; } = Outside;

    public bool IsGone { get; set; }

    /// <summary>True where it runs elsewhere than before.</summary>
    public bool IsReshaped { get; set; }

    /// <summary>True for a piece of a seam that was split.</summary>
    public bool IsPiece { get; set; }

    public Edge<ClothSpace> Path => new(From.Place, To.Place, Bulge);

    public Box<ClothSpace> Bounds => bounds ??= Path.Bounds();

    public LoosePoint Other(LoosePoint end) => end == From ? To : From;

    /// <summary>To be called when an end has moved.</summary>
    public void Moved() => bounds = null;
}
