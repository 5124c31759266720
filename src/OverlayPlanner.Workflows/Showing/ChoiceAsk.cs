using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>
/// What was asked of the choices of a quilt, in the words of <see cref="PlanWishes"/> where they have one; kept with the quilt, so that
/// what stands on the screen is what was planned.
/// </summary>
public sealed record ChoiceAsk
{
    /// <summary>Name of its file in a quilt's folder.</summary>
    public const string FileName = "choice-ask.json";

    /// <summary>The word for <see cref="Fill"/> that asks for <see cref="ChoiceWishes.EvenGap"/>.</summary>
    public const string Evenly = "evenly";

    /// <summary>The words for <see cref="Round"/>.</summary>
    public static IReadOnlyList<string> RoundWords { get; } = ["any", "first", "last"];

    /// <summary>The words for <see cref="Rulers"/>.</summary>
    public static IReadOnlyList<string> RulerWords { get; } = ["own", "none"];

    private static readonly JsonSerializerOptions Plain = new(JsonSerializerDefaults.Web) { WriteIndented = true };

    /// <summary>Id of the block; empty for the whole quilt.</summary>
    public string Block { get; init; } = "";

    /// <summary>As <see cref="PlanWishes.Lines"/>.</summary>
    public string Lines { get; init; } = "seams+arcs";

    /// <summary>As <see cref="PlanWishes.Thread"/>.</summary>
    public string Thread { get; init; } = "mixed";

    /// <summary>As <see cref="PlanWishes.Threads"/>.</summary>
    public string Threads { get; init; } = "same";

    /// <summary>When the ditch round the block is stitched: in any order, before its inside or after it.</summary>
    public string Round { get; init; } = "any";

    /// <summary>As <see cref="PlanWishes.Outline"/>: the quilt's own edge.</summary>
    public string Outline { get; init; } = "none";

    /// <summary>The quilter's own rulers, or none but a straight one.</summary>
    public string Rulers { get; init; } = "own";

    /// <summary>Empty for as it comes, <see cref="Evenly"/>, or a batting's name as <see cref="PlanWishes.Battings"/> has it.</summary>
    public string Fill { get; init; } = "";

    /// <summary>Id of the point where the thread starts, or null.</summary>
    public string? Start { get; init; }

    /// <summary>Id of the point where it ends, or null.</summary>
    public string? End { get; init; }

    /// <summary>Id of the block, or null for the whole quilt.</summary>
    public string? OnlyBlock => Block.Length == 0 ? null : Block;

    /// <summary>The widest open circle that is asked for, or null where it is left as it comes.</summary>
    public Length? WidestGap(QuiltMap map) =>
        Fill switch
        {
            "" => null,
            Evenly => ChoiceWishes.EvenGap(map, OnlyBlock),
            string batting => Length.FromInches(PlanWishes.Battings.First(b => b.Name == batting).Inches),
        };

    /// <summary>As the planner takes it.</summary>
    /// <param name="map">The quilt's map.</param>
    /// <param name="room">The quilter's foot and rulers.</param>
    /// <exception cref="InputException">Two wishes contradict each other.</exception>
    public PlanWishes ToWishes(QuiltMap map, RoomSettings room)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(room);
        string? rulers = Rulers == "none" ? "none" : room.Rulers;
        ChoiceRemedy.Require(this, rulers);
        return new()
        {
            Block = OnlyBlock,
            Start = PlaceOf(map, Start),
            End = PlaceOf(map, End),
            Foot = room.Foot,
            Rulers = rulers,
            Lines = Lines,
            Thread = Thread,
            Threads = Threads,
            Outline = Outline,
            AnchorFirst = Round == "first",
            RoundLast = Round == "last",
            Fill = WidestGap(map) is { } gap
                ? gap.Inches.ToString("0.####", System.Globalization.CultureInfo.InvariantCulture)
                : null,
        };
    }

    /// <summary>What was kept with a quilt; null where nothing was or it can't be used.</summary>
    public static ChoiceAsk? Of(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        string path = quilt.PathOf(FileName);
        if (!File.Exists(path))
        {
            return null;
        }

        try
        {
            ChoiceAsk? read = JsonSerializer.Deserialize<ChoiceAsk>(InputFiles.ReadAll(path).Span, Plain);
            return read is { IsKnown: true } ? read : null;
        }
        catch (Exception e) when (e is JsonException or InputException)
        {
            // A preference is no work: the choices open without it.
            return null;
        }
    }

    /// <summary>Keeps it with the quilt.</summary>
    /// <exception cref="InputException">The quilt can't be written.</exception>
    public KeptQuilt Keep(QuiltStore store, KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(store);
        return store.Save(quilt, (FileName, JsonSerializer.SerializeToUtf8Bytes(this, Plain)));
    }

    private bool IsKnown =>
        Block is not null
        && PlanWishes.LineWords.Contains(Lines)
        && PlanWishes.ThreadWords.Contains(Thread)
        && PlanWishes.ThreadsWords.Contains(Threads)
        && PlanWishes.OutlineWords.Contains(Outline)
        && RoundWords.Contains(Round)
        && RulerWords.Contains(Rulers)
        && (Fill is "" or Evenly || PlanWishes.Battings.Any(b => b.Name == Fill));

    // A point that a mended map has no more is wished no more.
    private static Point<ClothSpace>? PlaceOf(QuiltMap map, string? id) =>
        map.Junctions.FirstOrDefault(j => j.Id == id)?.Place;
}
