using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Plotter;

/// <summary>What is drawn with the pen down once.</summary>
/// <param name="Edges">In order, each from the last one's end; one edge without length for a dot.</param>
/// <param name="IsMark">True for registration marks.</param>
internal sealed record PenPath<TSpace>(IReadOnlyList<Edge<TSpace>> Edges, bool IsMark)
    where TSpace : ISpace
{
    /// <summary>Where the pen goes down.</summary>
    public Point<TSpace> From => Edges[0].From;

    /// <summary>Where it is lifted.</summary>
    public Point<TSpace> To => Edges[^1].To;

    /// <summary>The same line from its other end.</summary>
    public PenPath<TSpace> Reversed => this with { Edges = [.. Edges.Reverse().Select(e => e.Reversed)] };
}

/// <summary>From a drawing to pen paths.</summary>
internal static class PenPaths
{
    /// <summary>A drawing's strokes as pen paths, in its order; ends nearer than 1e-6 pt run on.</summary>
    public static IEnumerable<PenPath<PageSpace>> Of(Drawing.Drawing drawing)
    {
        foreach (Stroke stroke in drawing.Items.OfType<Stroke>())
        {
            List<Edge<PageSpace>> chain = [];
            foreach (Edge<PageSpace> e in stroke.Path)
            {
                if (chain.Count > 0 && chain[^1].To.DistanceTo(e.From) > 1e-6)
                {
                    yield return Whole(chain, stroke);
                    chain = [];
                }

                chain.Add(e);
            }

            if (chain.Count > 0)
            {
                yield return Whole(chain, stroke);
            }
        }
    }

    /// <summary>In the plotter's millimetres, y up, from the drawing's bottom left.</summary>
    public static PenPath<PlotterSpace> ToMillimeters(PenPath<PageSpace> path, double height)
    {
        const double Scale = Length.MillimetersPerInch / Length.PointsPerInch;
        Similarity<PlotterSpace, PageSpace> map = new(Scale, 0, 0, height * Scale, Mirrored: true);
        return new([.. path.Edges.Select(map.Apply)], path.IsMark);
    }

    // Edges without length say nothing, but where there are no others they are a dot.
    private static PenPath<PageSpace> Whole(List<Edge<PageSpace>> chain, Stroke stroke)
    {
        Edge<PageSpace>[] drawn = [.. chain.Where(e => e.From != e.To)];
        return new(drawn.Length > 0 ? drawn : [chain[0]], stroke.Layer != Layer.Route);
    }
}
