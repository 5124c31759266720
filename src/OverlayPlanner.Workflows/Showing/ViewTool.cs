namespace OverlayPlanner.Workflows.Showing;

/// <summary>What a touch on the cloth does.</summary>
public enum ViewTool
{
    /// <summary>Chooses a part.</summary>
    Look,

    /// <summary>Gives a place.</summary>
    Place,

    /// <summary>Moves a point.</summary>
    Move,
}
