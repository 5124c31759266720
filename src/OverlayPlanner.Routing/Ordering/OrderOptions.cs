using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Limits of the wishes about order, starts and ends.</summary>
internal static class OrderOptions
{
    /// <summary>Refuses numbers out of range, by the option's name.</summary>
    /// <exception cref="InputException">A number is out of range.</exception>
    public static void Require(RouteWishes w)
    {
        if (w.BulkyFrom is < 3 or > 64)
        {
            throw new InputException(
                "A point can be bulky from 3 to 64 seams on",
                "--bulky",
                "Give the number of seams; 8 is usual."
            );
        }

        if (!(w.Drag.Inches >= 0 && w.Drag.Inches <= 12))
        {
            throw new InputException(
                "The thread can be dragged from 0 to 12 in",
                "--drag",
                "Give inches; 0 is for never, 3 is usual."
            );
        }

        if (!(w.Clear.Inches >= 0 && w.Clear.Inches <= 3))
        {
            throw new InputException(
                "Arcs can meet the ditch from 0 to 3 in before a point",
                "--clear",
                "Give inches; 1/2 in is usual."
            );
        }

        if (!(w.HopCostSeconds >= 0 && w.HopCostSeconds <= 1e6))
        {
            throw new InputException(
                "A hop must cost from 0 to 1,000,000 s",
                "--hop-cost",
                "Give seconds; 13 is usual."
            );
        }
    }
}
