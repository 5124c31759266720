using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>Why two points should be one, or in line.</summary>
public enum MeetingReason
{
    /// <summary>The block's draft has one point there.</summary>
    Draft,

    /// <summary>Where the block repeats itself, turned or mirrored, there is one point.</summary>
    Symmetry,

    /// <summary>Two seams arrive at a third from both sides.</summary>
    BothSides,

    /// <summary>Two seams arrive at a strip of sashing from both sides and should line up across it.</summary>
    AcrossSashing,
}

/// <summary>Two points that should meet and do not.</summary>
/// <param name="First">Id of a point.</param>
/// <param name="Second">Id of the other.</param>
/// <param name="At">The middle between them, inches.</param>
/// <param name="Gap">How far apart they are, inches; across sashing, how far out of line.</param>
/// <param name="Reason">Why they should meet.</param>
public sealed record MissedPoint(string First, string Second, Point<ClothSpace> At, Measured Gap, MeetingReason Reason)
{
    /// <summary>True where the gap is more than its error can explain, 97.5 times in 100.</summary>
    public bool IsSure => Gap.Value > Gap.Within95;
}
