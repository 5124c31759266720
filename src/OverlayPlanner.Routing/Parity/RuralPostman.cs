using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Parity;

/// <summary>A line of a rural postman problem.</summary>
/// <param name="From">Index of the junction at one end.</param>
/// <param name="To">Index of the junction at the other end.</param>
/// <param name="Cost">What travelling it costs each time, at least 0.</param>
/// <param name="IsRequired">False for a line that may be travelled but need not be.</param>
public readonly record struct RuralLine(int From, int To, double Cost, bool IsRequired);

/// <summary>A closed walk over all required lines, and what is proven about it.</summary>
/// <param name="Steps">Lines in the order and direction of travel.</param>
/// <param name="Cost">Their cost, required lines included.</param>
/// <param name="Bound">No closed walk over all required lines costs less.</param>
public sealed record RuralWalk(IReadOnlyList<(int Line, bool Forward)> Steps, double Cost, double Bound)
{
    /// <summary>How much of the cost is not proven to be needed: 0 for an optimum.</summary>
    public double Gap => Cost <= Bound ? 0 : (Cost - Bound) / Cost;
}

/// <summary>
/// The least closed walk that travels every required line: the rural postman problem, NP-hard where the required lines lie in
/// several connected pieces (Lenstra and Rinnooy Kan, "On general routing problems", 1976).
/// </summary>
/// <remarks>
/// One piece is a least T-join over all lines, exact. Several are joined by cutting planes: every set that separates pieces is
/// left at least twice, every set with an odd number of odd junctions at least once (Corberán and Sanchis, "A polyhedral
/// approach to the rural postman problem", 1994; Padberg and Rao, "Odd minimum cut-sets and b-matchings", 1982). Walks come
/// from a spanning tree of the pieces led by the relaxation and a T-join (Frederickson, "Approximation algorithms for some
/// postman problems", 1979), and from integer programs over the lines that reduced costs leave open. Bounds hold to the
/// tolerance of floating-point linear programming; where all costs are multiples of 1, 1/4 or 1/100 they are rounded up to one.
/// </remarks>
public static class RuralPostman
{
    /// <summary>Solves as far as the time allows; with one required piece always exactly.</summary>
    /// <param name="junctions">Number of junctions.</param>
    /// <param name="lines">The lines; two may join the same junctions.</param>
    /// <param name="limit">How long to look for a better walk and a better bound.</param>
    /// <param name="cancellation">Looked at between rounds.</param>
    /// <exception cref="InputException">
    /// An end is no junction, a cost is negative, nothing is required, or required lines can't be reached from each other.
    /// </exception>
    public static RuralWalk Solve(
        int junctions,
        IReadOnlyList<RuralLine> lines,
        TimeSpan limit,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(lines);
        foreach (RuralLine l in lines)
        {
            if (l.From < 0 || l.To < 0 || l.From >= junctions || l.To >= junctions || !(l.Cost >= 0 && l.Cost < 1e9))
            {
                throw new InputException(
                    "A line ends at no junction or has an impossible cost",
                    "the lines",
                    "Number junctions from 0 and give costs from 0 to a thousand million."
                );
            }
        }

        if (!lines.Any(l => l.IsRequired))
        {
            throw new InputException("No line is required", "the lines", "Mark at least one line as required.");
        }

        return new RuralSearch(junctions, lines, limit, cancellation).Run();
    }
}
