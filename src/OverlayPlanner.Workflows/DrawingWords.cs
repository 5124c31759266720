using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Practice;
using OverlayPlanner.Rendering.Sheets;

namespace OverlayPlanner.Workflows;

/// <summary>How trace sheets are wanted, in the words of the command line.</summary>
public sealed record SheetWords
{
    /// <summary>letter, legal, tabloid, a4, a3 or WxH.</summary>
    public string Paper { get; init; } = "letter";

    /// <summary>top: all in one piece; blocks: each by itself; kinds: each kind of block once.</summary>
    public string Each { get; init; } = "top";

    /// <summary>Which side of the quilt is away from the user as it is loaded: top, bottom, left, right.</summary>
    public string Up { get; init; } = "top";

    /// <summary>Mirrored, for tracing from the back.</summary>
    public bool Mirror { get; init; }

    /// <summary>Pitch of dots for pouncing, or null for lines.</summary>
    public Length? Dots { get; init; }

    /// <summary>trace, light-table, film or tear-away.</summary>
    public string Use { get; init; } = "trace";

    /// <summary>What the marks of a first print measure, across and down the page, or null.</summary>
    public (Length Across, Length Down)? Measured { get; init; }

    /// <summary>What those marks say.</summary>
    public (Length Across, Length Down) Marked { get; init; } = (Length.FromInches(1), Length.FromInches(1));

    internal SheetWishes ToWishes()
    {
        if (!(Marked.Across > Length.Zero && Marked.Down > Length.Zero))
        {
            throw new InputException("Marks of no length can't be measured", "--marked", "Give inches of ruler, 6x9.");
        }

        return new()
        {
            Paper = PaperSize.Parse(Paper),
            Scope = Words.Choice(
                Each,
                "--each",
                ("top", SheetScope.Top),
                ("blocks", SheetScope.Blocks),
                ("kinds", SheetScope.Kinds)
            ),
            Up = Words.Loaded(Up),
            Mirror = Mirror,
            Dots = Dots,
            Use = Words.Choice(
                Use,
                "--use",
                ("trace", SheetUse.Trace),
                ("light-table", SheetUse.LightTable),
                ("film", SheetUse.Film),
                ("tear-away", SheetUse.TearAway)
            ),
            Printer = Measured is { } m ? PrinterScale.FromMeasured(m, Marked) : null,
        };
    }
}

/// <summary>How a stitch card is wanted, in the words of the command line.</summary>
/// <param name="Paper">letter, legal, tabloid, a4, a3 or WxH.</param>
/// <param name="Up">Which side of the quilt is away from the user as it is loaded: top, bottom, left, right.</param>
public sealed record CardWords(string Paper = "letter", string Up = "top")
{
    internal Rendering.Cards.CardWishes ToWishes() => new() { Paper = PaperSize.Parse(Paper), Up = Words.Loaded(Up) };
}

/// <summary>How practice pages are wanted, in the words of the command line.</summary>
/// <param name="Paper">letter, legal, tabloid, a4, a3 or WxH.</param>
/// <param name="Kind">sheet, class or strip.</param>
/// <param name="Block">The block's id, or null for the first that the route names.</param>
/// <param name="Hand">right or left: the hand that holds the pencil.</param>
public sealed record PracticeWords(
    string Paper = "letter",
    string Kind = "sheet",
    string? Block = null,
    string Hand = "right"
)
{
    internal PracticeWishes ToWishes() =>
        new()
        {
            Paper = PaperSize.Parse(Paper),
            Kind = Words.Choice(
                Kind,
                "--kind",
                ("sheet", PracticeKind.Sheet),
                ("class", PracticeKind.ClassPack),
                ("strip", PracticeKind.Strip)
            ),
            Block = Block,
            Hand = Words.Choice(Hand, "--hand", ("right", Quilts.Side.Right), ("left", Quilts.Side.Left)),
        };
}

/// <summary>How a plotter's file is wanted, in the words of the command line.</summary>
public sealed record PlotWords
{
    /// <summary>Draws the corners of the mapped area too, and crosses where panels join.</summary>
    public bool Marks { get; init; }

    /// <summary>A plotter profile's file, or null for the usual machine.</summary>
    public string? Device { get; init; }

    /// <summary>The bed, or null where everything fits.</summary>
    public (Length Width, Length Height)? Bed { get; init; }

    /// <summary>stitched: as the needle goes; way: least pen-up travel, each thread its own way; any: from either end.</summary>
    public string Order { get; init; } = "way";

    internal PlotterWishes ToWishes(PlotterFormat format)
    {
        PlotterDevice device = Device is null ? new() : PlotterDevice.Read(InputFiles.ReadAll(Device).Span, Device);
        return new()
        {
            Format = format,
            Marks = Marks,
            Device = Bed is { } bed ? device with { BedWidth = bed.Width, BedHeight = bed.Height } : device,
            Order = Words.Choice(
                Order,
                "--order",
                ("stitched", PenOrder.AsStitched),
                ("way", PenOrder.KeepWay),
                ("any", PenOrder.AnyWay)
            ),
        };
    }
}

/// <summary>Words of options and what they mean.</summary>
internal static class Words
{
    public static LoadedUp Loaded(string text) =>
        Choice(
            text,
            "--up",
            ("top", LoadedUp.Top),
            ("bottom", LoadedUp.Bottom),
            ("left", LoadedUp.Left),
            ("right", LoadedUp.Right)
        );

    public static T Choice<T>(string text, string option, params ReadOnlySpan<(string Word, T Meaning)> choices)
    {
        List<string> words = [];
        foreach ((string word, T meaning) in choices)
        {
            if (string.Equals(word, text.Trim(), StringComparison.OrdinalIgnoreCase))
            {
                return meaning;
            }

            words.Add(word);
        }

        throw new InputException($"\"{text}\" is no choice", option, $"Give {string.Join(", ", words)}.");
    }
}
