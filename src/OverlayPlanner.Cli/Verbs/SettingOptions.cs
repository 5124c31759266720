using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>The options of a whole setting.</summary>
internal sealed class SettingOptions
{
    private const int MostBorders = 12;

    private readonly Option<string> kind = new("--setting")
    {
        DefaultValueFactory = _ => "straight",
        Description = "straight, or on-point: blocks turned by 45 degrees, triangles at the sides and in the corners.",
    };

    private readonly Option<string?> cornerstones = new("--cornerstones")
    {
        Arity = ArgumentArity.ZeroOrOne,
        Description =
            "Where strips meet: with (a piece of its own; as without the option) or none (long strips run through).",
    };

    private readonly Option<string?> alternate = new("--alternate")
    {
        Description = "Every second block: plain, turned, mirrored, or another block's id or name.",
    };

    private readonly Option<string?> border = new("--border")
    {
        Description =
            "Finished widths from the inside out, for example 2,4; 3x5 is 3 at the sides and 5 at top and bottom, "
            + "1x2x3x4 goes clockwise from the top.",
    };

    private readonly Option<string> borderCorners = new("--border-corners")
    {
        DefaultValueFactory = _ => "butted",
        Description = "butted, mitred, or squares.",
    };

    public void AddTo(Command command)
    {
        command.Add(kind);
        command.Add(cornerstones);
        command.Add(alternate);
        command.Add(border);
        command.Add(borderCorners);
    }

    public bool IsOnPoint(ParseResult r) => KindOf(r) == SettingKind.OnPoint;

    /// <summary>The setting; null where no option asks for more than rows and columns.</summary>
    public SettingOrder? Read(ParseResult r)
    {
        SettingOrder order = new()
        {
            Kind = KindOf(r),
            Cornerstones = (r.GetValue(cornerstones) ?? "with") switch
            {
                "with" => Cornerstones.With,
                "none" => Cornerstones.None,
                string other => throw Unusable(other, "--cornerstones", "with or none"),
            },
            Alternate = r.GetValue(alternate),
            Borders = [.. Bands(r.GetValue(border))],
            BorderCorners = r.GetRequiredValue(borderCorners) switch
            {
                "butted" => BorderCorners.Butted,
                "mitred" => BorderCorners.Mitred,
                "squares" => BorderCorners.Squares,
                string other => throw Unusable(other, "--border-corners", "butted, mitred or squares"),
            },
        };
        bool plain =
            order.Kind == SettingKind.Straight
            && order.Cornerstones == Cornerstones.With
            && order.Alternate is null
            && order.Borders.Count == 0;
        return plain ? null : order;
    }

    /// <summary>What to cut for the triangles of an on-point top.</summary>
    public static JsonObject Cuts(Length block, int rows, int columns) =>
        new()
        {
            ["sideTriangles"] = SettingCuts.SideTriangles(rows, columns),
            ["sideTriangleSquare"] = SettingCuts.SideTriangleSquare(block).Inches,
            ["cornerTriangles"] = 4,
            ["cornerTriangleSquare"] = SettingCuts.CornerTriangleSquare(block).Inches,
        };

    public static void ShowCuts(IAnsiConsole console, Length block, int rows, int columns)
    {
        int sides = SettingCuts.SideTriangles(rows, columns);
        console.MarkupLineInterpolated(
            CultureInfo.InvariantCulture,
            $"Side triangles: {sides}, from squares of {SettingCuts.SideTriangleSquare(block).Inches:0.###} in cut twice ({(sides + 3) / 4} of them)."
        );
        console.MarkupLineInterpolated(
            CultureInfo.InvariantCulture,
            $"Corner triangles: 4, from 2 squares of {SettingCuts.CornerTriangleSquare(block).Inches:0.###} in cut once."
        );
    }

    private SettingKind KindOf(ParseResult r) =>
        r.GetRequiredValue(kind) switch
        {
            "straight" => SettingKind.Straight,
            "on-point" => SettingKind.OnPoint,
            string other => throw Unusable(other, "--setting", "straight or on-point"),
        };

    private static IEnumerable<BorderBand> Bands(string? text)
    {
        if (string.IsNullOrWhiteSpace(text))
        {
            yield break;
        }

        string[] bands = text.Split(',', StringSplitOptions.TrimEntries);
        if (bands.Length > MostBorders)
        {
            throw Unusable(text, "--border", "at most twelve borders");
        }

        foreach (string band in bands)
        {
            Length[] w = [.. band.Split('x', 'X', '×').Select(p => Values.Length(p, "--border"))];
            yield return w.Length switch
            {
                1 => BorderBand.Equal(w[0]),
                2 => new(w[1], w[0], w[1], w[0]),
                4 => new(w[0], w[1], w[2], w[3]),
                _ => throw Unusable(band, "--border", "one width, SIDESxENDS, or four clockwise from the top"),
            };
        }
    }

    private static InputException Unusable(string text, string option, string wanted) =>
        new($"\"{text}\" can't be used", option, $"Give {wanted}.");
}
