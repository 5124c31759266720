namespace OverlayPlanner.Workroom.Components.Mend;

/// <summary>What the next touch on the cloth means.</summary>
public enum MendMode
{
    /// <summary>It chooses a part.</summary>
    Choose,

    /// <summary>A new seam begins there.</summary>
    Begin,

    /// <summary>The new seam ends there.</summary>
    End,

    /// <summary>A corner of a new block is there.</summary>
    Corner,

    /// <summary>The chosen point goes there.</summary>
    Move,

    /// <summary>The chosen seam becomes an arc through there.</summary>
    Bend,
}
