using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Rendering;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workroom.Components.Drawing;

/// <summary>A move's number as SVG text, which a page's own markup can't write: its text element is another thing.</summary>
public sealed class MoveNumber : ComponentBase
{
    private const double LetterSize = 20;

    /// <summary>The move's number, from 1.</summary>
    [Parameter, EditorRequired]
    public required int Number { get; set; }

    /// <summary>Where it stands, inches from the left.</summary>
    [Parameter, EditorRequired]
    public required double X { get; set; }

    /// <summary>The same, down.</summary>
    [Parameter, EditorRequired]
    public required double Y { get; set; }

    /// <summary>The letters' height, inches on the cloth.</summary>
    [Parameter, EditorRequired]
    public required double Size { get; set; }

    /// <inheritdoc/>
    protected override void BuildRenderTree(RenderTreeBuilder builder)
    {
        ArgumentNullException.ThrowIfNull(builder);
        builder.OpenElement(0, "text");
        builder.AddAttribute(1, "class", "number");

        // Letters of a fraction of a unit are set apart by whole units in some browsers: they are set large and made small.
        builder.AddAttribute(
            2,
            "transform",
            $"translate({SvgWay.Number(X)} {SvgWay.Number(Y)}) scale({SvgWay.Number(Size / LetterSize)})"
        );
        builder.AddAttribute(3, "font-size", "20");
        builder.AddAttribute(4, "text-anchor", "middle");
        builder.AddAttribute(5, "dominant-baseline", "central");
        builder.AddContent(6, Number);
        builder.CloseElement();
    }
}
