using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Practice;

/// <summary>One block of a route as practice pages draw it: at any size, with as many of its steps as are wanted.</summary>
internal sealed class BlockFigure
{
    /// <summary>Points to an inch of cloth at half size.</summary>
    public const double HalfSize = 36;

    // A photocopier loses light greys: everything is black or a grey that it keeps.
    private static readonly Ink CopiedSeam = new(0x6C, 0x6C, 0x6C);

    private readonly Route route;
    private readonly RouteCandidate candidate;
    private readonly StitchStep[] steps;

    private BlockFigure(
        Route route,
        RouteCandidate candidate,
        string? block,
        string name,
        Box<ClothSpace> shown,
        StitchStep[] steps
    )
    {
        Block = block;
        this.route = route;
        this.candidate = candidate;
        this.steps = steps;
        Name = name;
        Shown = shown;
    }

    /// <summary>The block's id; null where all that a candidate stitches is meant.</summary>
    public string? Block { get; }

    /// <summary>What the block is called.</summary>
    public string Name { get; }

    /// <summary>The part of the cloth that is shown, inches.</summary>
    public Box<ClothSpace> Shown { get; }

    /// <summary>Number of steps.</summary>
    public int Steps => steps.Length;

    /// <summary>Threads that are started in the block.</summary>
    public int Starts => steps.Count(s => s.FirstMove == 0 || ReferenceEquals(s, steps[0]));

    /// <summary>What of the block is stitched a second time.</summary>
    public Length Backtracking => Length.FromInches(steps.Where(s => s.IsBacktrack).Sum(s => s.Length.Inches));

    /// <summary>The steps of one block.</summary>
    /// <param name="block">Its id; null for the first block that the candidate names, or all of it where it names none.</param>
    /// <exception cref="InputException">There is no such block, or nothing is stitched in it.</exception>
    public static BlockFigure Of(Route route, RouteCandidate candidate, string? block)
    {
        string? id = block ?? candidate.AllMoves.Select(m => m.Block).OfType<string>().FirstOrDefault();
        if (id is not null && route.Quilt.FindBlock(id) is null)
        {
            throw new InputException($"There is no block \"{id}\"", "--block", "Name a block of the route's map.");
        }

        return Find(route, candidate, id)
            ?? throw new InputException(
                "There is nothing to practise: no line is stitched there",
                id is null ? $"candidate {candidate.Name}" : $"block {id}",
                "Plan a route for the block first, or name another with --block."
            );
    }

    /// <summary>The steps of one block; null where the candidate stitches nothing in it.</summary>
    /// <param name="block">Its id; null for all that the candidate stitches.</param>
    public static BlockFigure? Find(Route route, RouteCandidate candidate, string? block)
    {
        StitchStep[] own =
        [
            .. StitchStep.Of(route.Quilt, candidate).Where(s => block is null || s.Moves[0].Block == block),
        ];
        if (own.Length == 0)
        {
            return null;
        }

        Box<ClothSpace> shown = Box<ClothSpace>.Around(own.SelectMany(s => new[] { s.From, s.To }));
        foreach (Move move in own.SelectMany(s => s.Moves))
        {
            shown = shown.With(move.Path.Bounds());
        }

        Quilts.Block? found = block is null ? null : route.Quilt.FindBlock(block);
        if (found is not null)
        {
            shown = shown.With(Box<ClothSpace>.Around(found.Corners));
        }

        string name = found is null ? RouteNames.TitleOf(route.Quilt, candidate) : RouteNames.BlockName(found);
        return new(route, candidate, block, name, shown, own);
    }

    /// <summary>Points to an inch that fill a room, marks and numbers beside the block counted.</summary>
    public double ScaleFor(Box<PageSpace> room, double air) =>
        Math.Min(
            (room.Width - 2 * air) / Math.Max(Shown.Width, 1e-6),
            (room.Height - 2 * air) / Math.Max(Shown.Height, 1e-6)
        );

    /// <summary>Draws the block in the middle of a room.</summary>
    /// <param name="scale">Points to an inch of cloth.</param>
    /// <param name="wanted">The steps that are drawn, by their place in the block from 0.</param>
    /// <param name="given">What else is given.</param>
    /// <param name="dash">Dash and gap of the steps, or null for whole lines.</param>
    public PlacedFigure Draw(
        Box<PageSpace> room,
        double scale,
        Func<int, bool> wanted,
        Given given,
        IReadOnlyList<double>? dash = null
    )
    {
        FigureContent all = On(room, scale);
        Dictionary<int, int> places = PlacesByNumber();
        FigureStep[] drawn = [.. all.Steps.Where(s => wanted(places[s.Step.Number]))];
        FigureContent content = all with
        {
            Steps = [.. drawn.Select(s => s with { Number = Numbered(places[s.Step.Number]) })],
            Starts =
                given.HasFlag(Given.AllStarts) ? all.Starts
                : given.HasFlag(Given.FirstStart) ? [.. all.Starts.Take(1)]
                : [],
            Ends = given.HasFlag(Given.Ends) ? all.Ends : [],
            Bulky = [],
        };
        return RouteFigure.Place(
            content,
            FigureStyle.Paper with
            {
                Seam = CopiedSeam,

                // A number less is named below the figure; a pack has dozens of them.
                Rounds = 0,
                SeamWidth = 0.55,
                Route = Palette.Black,
                RouteWidth = dash is null ? 1.7 : 1.2,
                RouteDash = dash,
                Mark = Palette.Black,
                Repeat = 600,
                MarkScales = [0.8, 0.65, 0.5],
            },
            room,
            room
        );
    }

    /// <summary>The lines that are stitched already, thin and without numbers.</summary>
    public IEnumerable<DrawnItem> Done(Box<PageSpace> room, double scale, Func<int, bool> wanted)
    {
        Dictionary<int, int> places = PlacesByNumber();
        return On(room, scale)
            .Steps.Where(s => !s.Step.IsBacktrack && wanted(places[s.Step.Number]))
            .Select(s => new Stroke(Layer.Seams, s.Path, CopiedSeam, 1.2));
    }

    private Dictionary<int, int> PlacesByNumber() =>
        steps.Select((s, i) => (s.Number, Place: i)).ToDictionary(p => p.Number, p => p.Place);

    private FigureContent On(Box<PageSpace> room, double scale)
    {
        Similarity<PageSpace, ClothSpace> page = new(
            scale,
            0,
            room.Center.X - Shown.Center.X * scale,
            room.Center.Y - Shown.Center.Y * scale
        );
        HashSet<int> own = [.. steps.Select(s => s.Number)];
        return FigureContent.Of(
            route.Quilt,
            candidate,
            Shown,
            e => [page.Apply(e)],
            Math.Clamp(scale / 8, 2.4, FigureContent.BacktrackOffset),
            s => own.Contains(s.Number)
        );
    }

    // Numbers count within the block, as a class does.
    private static string Numbered(int place) =>
        (place + 1).ToString(System.Globalization.CultureInfo.InvariantCulture);
}

/// <summary>What a picture gives besides lines.</summary>
[Flags]
internal enum Given
{
    Nothing = 0,
    FirstStart = 1,
    AllStarts = 2,
    Ends = 4,
}
