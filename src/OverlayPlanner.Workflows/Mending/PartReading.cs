using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>A side of a seam that may be the low one.</summary>
/// <param name="Side">As an edit says it, along the seam's own way.</param>
/// <param name="Words">Where it lies on the screen: above, below, on the left, on the right.</param>
public sealed record SideWords(LowSide Side, string Words);

/// <summary>What is known of one part of a map.</summary>
/// <param name="Part">The part.</param>
/// <param name="Title">What it is, in a few words.</param>
public sealed record PartReading(QuiltPart Part, string Title)
{
    /// <summary>What is measured and said of it: a word, and a value in the reader's words.</summary>
    public IReadOnlyList<(string What, string Value)> Lines { get; init; } = [];

    /// <summary>For a seam or a point: whether it can be moved, bent or taken out; the outline's can't.</summary>
    public bool IsInside { get; init; } = true;

    /// <summary>For a seam: whether it is doubtful.</summary>
    public bool IsDoubtful { get; init; }

    /// <summary>For a seam: whether it is an arc.</summary>
    public bool IsArc { get; init; }

    /// <summary>For a seam: its two sides.</summary>
    public IReadOnlyList<SideWords> Sides { get; init; } = [];

    /// <summary>For a seam of the outline: what the outline is there.</summary>
    public EdgeKind? Outline { get; init; }

    /// <summary>For a patch: whether it is left alone.</summary>
    public bool IsLeft { get; init; }

    /// <summary>For a seam or a patch: the block that it lies in, or null.</summary>
    public QuiltPart? Within { get; init; }

    /// <summary>For a block: whether it has a name, which is then the title.</summary>
    public bool HasName { get; init; }

    /// <summary>For a block: its copies.</summary>
    public IReadOnlyList<QuiltPart> Copies { get; init; } = [];

    internal static PartReading? Of(QuiltMap map, QuiltPart part, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(part);
        ArgumentNullException.ThrowIfNull(words);
        return part.Kind switch
        {
            QuiltPartKind.Seam => map.FindSeam(part.Id) is { } s ? OfSeam(map, part, s, words) : null,
            QuiltPartKind.Point => map.Junctions.FirstOrDefault(j => j.Id == part.Id) is { } j
                ? OfPoint(map, part, j, words)
                : null,
            QuiltPartKind.Patch => map.Patches.FirstOrDefault(p => p.Id == part.Id) is { } p
                ? OfPatch(map, part, p, words)
                : null,
            _ => map.FindBlock(part.Id) is { } b ? OfBlock(map, part, b, words) : null,
        };
    }

    private static PartReading OfSeam(QuiltMap map, QuiltPart part, Seam seam, LengthWords words)
    {
        Edge<ClothSpace> path = map.EdgeOf(seam);
        Measured length = LengthOf(map, seam);
        SideWords[] sides = SidesOf(path);
        List<(string, string)> lines = [("Length", Say(words, length))];
        if (!path.IsLine)
        {
            lines.Add(("Rise of the arc", words.Say(Length.FromInches(Math.Abs(path.Sagitta)))));
        }

        bool inside = seam.Role != SeamRole.Edge;
        bool doubtful = inside && seam.Confidence < Detection.LookHereChooser.SureFrom;
        if (inside)
        {
            lines.Add(("Low side", LowSideOf(seam, sides)));
        }

        return new(
            part,
            seam.Role == SeamRole.Edge ? "A seam of the outline"
                : doubtful ? "A doubtful seam"
                : seam.Role == SeamRole.Block ? "A block's side"
                : "A seam"
        )
        {
            Lines = lines,
            IsInside = inside,
            IsDoubtful = doubtful,
            IsArc = !path.IsLine,
            Within = map
                .Patches.Where(p => p.Seams.Contains(seam.Id))
                .Select(p => BlockOf(map, p))
                .FirstOrDefault(b => b is not null),
            Sides = sides,
            Outline = seam.Role == SeamRole.Edge ? seam.Edge ?? EdgeKind.Seam : null,
        };
    }

    private static PartReading OfPoint(QuiltMap map, QuiltPart part, Junction point, LengthWords words)
    {
        int meet = map.Seams.Count(s => s.From == point.Id || s.To == point.Id);
        bool corner =
            map.Seams.Count(s => s.Role == SeamRole.Edge && (s.From == point.Id || s.To == point.Id)) == 2
            && (point.Place.X == 0 || point.Place.X == map.Width.Inches)
            && (point.Place.Y == 0 || point.Place.Y == map.Height.Inches);
        return new(part, "A point")
        {
            Lines =
            [
                ("From the left", words.Say(Length.FromInches(point.Place.X))),
                ("From the top", words.Say(Length.FromInches(point.Place.Y))),
                ("Known within", words.SayError(point.At.Sigma)),
                ("Seams that meet", meet.ToString(System.Globalization.CultureInfo.InvariantCulture)),
            ],
            IsInside = !corner,
        };
    }

    private static PartReading OfPatch(QuiltMap map, QuiltPart part, Patch patch, LengthWords words)
    {
        Seam[] round = [.. patch.Seams.Select(map.SeamOf)];
        Box<ClothSpace> box = Box<ClothSpace>.Around(
            round.SelectMany(s =>
            {
                Box<ClothSpace> b = map.EdgeOf(s).Bounds();
                return new Point<ClothSpace>[] { new(b.Left, b.Top), new(b.Right, b.Bottom) };
            })
        );
        Length worst = round
            .SelectMany(s => new[] { map.JunctionOf(s.From), map.JunctionOf(s.To) })
            .Max(j => j.At.Sigma);

        // Either end of a width is off on its own.
        Length sigma = worst * Math.Sqrt(2);
        return new(part, patch.Leave ? "A patch to leave alone" : "A patch")
        {
            Lines =
            [
                ("Across", words.Say(Length.FromInches(box.Width), sigma)),
                ("Down", words.Say(Length.FromInches(box.Height), sigma)),
                ("Sides", round.Length.ToString(System.Globalization.CultureInfo.InvariantCulture)),
            ],
            IsLeft = patch.Leave,
            Within = BlockOf(map, patch),
        };
    }

    private static PartReading OfBlock(QuiltMap map, QuiltPart part, Block block, LengthWords words)
    {
        BlockReport report = BlockReport.Of(map, block, default);
        string[] names = ["Top", "Right", "Bottom", "Left"];
        IReadOnlyList<Block> copies = Mender.CopiesOf(map, block);
        return new(part, MendingWords.NameOf(block) ?? "A block without a name")
        {
            Lines =
            [
                .. report.Sides.Select((s, i) => (names[i], Say(words, s))),
                .. MendingWords.NameOf(block) is null ? [] : new[] { ("Lies", MendingWords.LiesOf(block)) },
            ],
            HasName = MendingWords.NameOf(block) is not null,
            Copies = [.. copies.Select(b => new QuiltPart(QuiltPartKind.Block, b.Id))],
        };
    }

    private static QuiltPart? BlockOf(QuiltMap map, Patch patch) =>
        map.Blocks.FirstOrDefault(b => b.Patches.Contains(patch.Id)) is { } block
            ? new(QuiltPartKind.Block, block.Id)
            : null;

    private static Measured LengthOf(QuiltMap map, Seam seam)
    {
        Junction[] ends = [map.JunctionOf(seam.From), map.JunctionOf(seam.To)];
        return Measured.From(
            [.. ends.Select(e => e.Place)],
            [.. ends.Select(e => e.At.Sigma.Inches)],
            p => new Edge<ClothSpace>(p[0], p[1], seam.Bulge).Length
        );
    }

    private static string Say(LengthWords words, Measured m) =>
        words.Say(Length.FromInches(m.Value), Length.FromInches(m.Sigma));

    // Left of the way is the way turned left as seen, y down.
    private static SideWords[] SidesOf(Edge<ClothSpace> path)
    {
        Vector<ClothSpace> left = (path.To - path.From).TurnedLeft;
        (string l, string r) =
            Math.Abs(left.X) > Math.Abs(left.Y)
                ? left.X < 0
                    ? ("on the left", "on the right")
                    : ("on the right", "on the left")
                : left.Y < 0
                    ? ("above", "below")
                    : ("below", "above");
        return [new(LowSide.Left, l), new(LowSide.Right, r)];
    }

    private static string LowSideOf(Seam seam, SideWords[] sides) =>
        seam.Ditch switch
        {
            Side.Left => sides[0].Words,
            Side.Right => sides[1].Words,
            _ => seam.DitchWhy is null ? "not known" : "none: pressed open",
        } + (seam is { Ditch: not null, DitchWhy: { } why } ? $" ({why})" : "");
}
