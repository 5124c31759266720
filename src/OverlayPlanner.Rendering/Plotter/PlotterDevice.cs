using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Plotter;

/// <summary>How a pen machine lifts its pen.</summary>
public enum PenLift
{
    /// <summary>By its vertical axis: <see cref="PlotterDevice.Up"/> and <see cref="PlotterDevice.Down"/> are heights, mm.</summary>
    Z,

    /// <summary>By a servo on the spindle's output: they are its S words.</summary>
    Servo,
}

/// <summary>A plotter as data. The defaults suit most: nothing here needs to be known to draw one block.</summary>
public sealed record PlotterDevice
{
    /// <summary>Version of the file format <c>overlayplanner.plotter</c>.</summary>
    public const int Version = 1;

    /// <summary>HP-GL's unit: 1016 to the inch, 0.025 mm (HP 7475A Interfacing and Programming Manual, 1984, ch. 1).</summary>
    public double UnitsPerInch { get; init; } = 1016;

    /// <summary>Pens in the carousel; marks are drawn with the second where there is one. 1 to 8.</summary>
    public int Pens { get; init; } = 1;

    /// <summary>True where HP-GL may use AA arcs; chords otherwise.</summary>
    public bool Arcs { get; init; }

    /// <summary>Farthest that a chord may leave its arc, mm. 0.0005 to 0.5.</summary>
    public double ChordErrorMm { get; init; } = 0.004;

    /// <summary>How the pen is lifted in G-code.</summary>
    public PenLift Lift { get; init; } = PenLift.Z;

    /// <summary>Pen up: a height in mm, or an S word. The pen is down at <see cref="Down"/>.</summary>
    public double Up { get; init; } = 5;

    /// <summary>Pen down, as <see cref="Up"/>.</summary>
    public double Down { get; init; }

    /// <summary>Drawing speed, mm a minute. Over 0, at most 100,000.</summary>
    public double FeedMmPerMinute { get; init; } = 1_500;

    /// <summary>The bed across, or null where the drawing is known to fit. A larger drawing is split into panels.</summary>
    public Length? BedWidth { get; init; }

    /// <summary>The bed down.</summary>
    public Length? BedHeight { get; init; }

    /// <summary>The device, if its numbers make sense.</summary>
    /// <exception cref="InputException">One does not; it says which.</exception>
    public PlotterDevice Checked(string where = "plotter profile")
    {
        Require(UnitsPerInch is >= 10 and <= 100_000, "unitsPerInch", UnitsPerInch, "from 10 to 100000");
        Require(Pens is >= 1 and <= 8, "pens", Pens, "from 1 to 8");
        Require(ChordErrorMm is >= 0.0005 and <= 0.5, "chordErrorMm", ChordErrorMm, "from 0.0005 to 0.5");
        Require(FeedMmPerMinute is > 0 and <= 100_000, "feedMmPerMinute", FeedMmPerMinute, "over 0, at most 100000");
        Require(double.IsFinite(Up) && Math.Abs(Up) <= 10_000, "up", Up, "a height in mm or a servo's S word");
        Require(double.IsFinite(Down) && Math.Abs(Down) <= 10_000, "down", Down, "a height in mm or a servo's S word");
        Require(Lift == PenLift.Servo ? Up != Down : Up > Down, "up", Up, "above down, or the pen would never leave");
        foreach ((Length? side, string name) in new[] { (BedWidth, "bedWidth"), (BedHeight, "bedHeight") })
        {
            Require(side is null or { Inches: >= 3 and <= 1_000 }, name, side?.Inches ?? 0, "from 3 to 1000 in");
        }

        Require((BedWidth is null) == (BedHeight is null), "bedWidth and bedHeight", 0, "both or neither");
        return this;

        void Require(bool holds, string field, double value, string remedy)
        {
            if (!holds)
            {
                throw new InputException(
                    string.Create(CultureInfo.InvariantCulture, $"A plotter's {field} can't be {value}"),
                    $"{where}, {field}",
                    $"Give {remedy}."
                );
            }
        }
    }

    /// <summary>Reads <c>overlayplanner.plotter</c>: each property by its name in camel case, beds in inches; all optional.</summary>
    /// <exception cref="InputException">It is not that, or a number makes no sense.</exception>
    public static PlotterDevice Read(ReadOnlySpan<byte> json, string where)
    {
        try
        {
            Utf8JsonReader reader = new(json);
            using JsonDocument document = JsonDocument.ParseValue(ref reader);
            JsonElement root = document.RootElement;
            if (
                !root.TryGetProperty("format", out JsonElement format)
                || format.GetString() != "overlayplanner.plotter"
                || !root.TryGetProperty("version", out JsonElement version)
            )
            {
                throw Bad("This is no plotter profile", "Its format must be overlayplanner.plotter, version 1.");
            }

            if (version.GetInt32() > Version)
            {
                throw Bad("This plotter profile is of a later version", "Use a newer program, or write version 1.");
            }

            PlotterDevice usual = new();
            return new PlotterDevice
            {
                UnitsPerInch = Number("unitsPerInch") ?? usual.UnitsPerInch,
                Pens = (int)(Number("pens") ?? usual.Pens),
                Arcs = root.TryGetProperty("arcs", out JsonElement arcs) && arcs.GetBoolean(),
                ChordErrorMm = Number("chordErrorMm") ?? usual.ChordErrorMm,
                Lift = root.TryGetProperty("lift", out JsonElement lift)
                    ? lift.GetString() switch
                    {
                        "z" => PenLift.Z,
                        "servo" => PenLift.Servo,
                        _ => throw Bad("The plotter's lift is unknown", "Use \"z\" or \"servo\"."),
                    }
                    : usual.Lift,
                Up = Number("up") ?? usual.Up,
                Down = Number("down") ?? usual.Down,
                FeedMmPerMinute = Number("feedMmPerMinute") ?? usual.FeedMmPerMinute,
                BedWidth = Number("bedWidth") is { } w ? Length.FromInches(w) : null,
                BedHeight = Number("bedHeight") is { } h ? Length.FromInches(h) : null,
            }.Checked(where);

            double? Number(string name) => root.TryGetProperty(name, out JsonElement v) ? v.GetDouble() : null;
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or FormatException)
        {
            throw Bad("The plotter profile can't be read", $"It must be JSON: {e.Message}");
        }

        InputException Bad(string what, string remedy) => new(what, where, remedy);
    }
}
