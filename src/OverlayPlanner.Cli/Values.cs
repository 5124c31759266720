using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Cli;

/// <summary>Reads what users type behind options. A value that can't be used is bad input, not wrong usage.</summary>
internal static class Values
{
    public static Length Length(string text, string option) =>
        OverlayPlanner.Geometry.Length.TryParse(text, out Length length)
            ? length
            : throw new InputException(
                $"\"{text}\" is no length",
                option,
                "Give inches (12, 12.5, 12 1/2) or millimetres (305mm)."
            );

    /// <summary>Lengths with commas or semicolons between, so that fractions may hold a space.</summary>
    public static IReadOnlyList<Length> Lengths(string text, string option) =>
        [.. text.Split(',', ';').Select(t => Length(t, option))];

    public static (Length Width, Length Height) Size(string text, string option)
    {
        string[] parts = text.Split('x', 'X', '×');
        return
            parts.Length == 2
            && OverlayPlanner.Geometry.Length.TryParse(parts[0], out Length w)
            && OverlayPlanner.Geometry.Length.TryParse(parts[1], out Length h)
            ? (w, h)
            : throw new InputException(
                $"\"{text}\" is no size",
                option,
                "Give width x height, for example 24x24 or 610mmx610mm."
            );
    }

    public static (int Across, int Down) Counts(string text, string option)
    {
        string[] parts = text.Split('x', 'X', '×');
        return parts.Length == 2 && Whole(parts[0], out int a) && Whole(parts[1], out int b)
            ? (a, b)
            : throw new InputException(
                $"\"{text}\" is no pair of whole numbers",
                option,
                "Give across x down, for example 3x2."
            );

        static bool Whole(string t, out int v) =>
            int.TryParse(t, NumberStyles.None, CultureInfo.InvariantCulture, out v);
    }

    public static int Count(string text, string option, int least, int most) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int v) && v >= least && v <= most
            ? v
            : throw new InputException(
                $"\"{text}\" can't be used",
                option,
                string.Create(CultureInfo.InvariantCulture, $"Give a whole number from {least} to {most}.")
            );

    public static double Number(string text, string option, double least, double most) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double v) && v >= least && v <= most
            ? v
            : throw new InputException(
                $"\"{text}\" can't be used",
                option,
                string.Create(CultureInfo.InvariantCulture, $"Give a number from {least} to {most}.")
            );

    public static Point<TSpace> Point<TSpace>(string text, string option)
        where TSpace : ISpace
    {
        string[] parts = text.Split(',');
        return parts.Length == 2 && Coordinate(parts[0], out double x) && Coordinate(parts[1], out double y)
            ? new(x, y)
            : throw new InputException($"\"{text}\" is no point", option, "Give x,y with points as decimal signs.");
    }

    public static IReadOnlyList<Point<TSpace>> Points<TSpace>(string text, string option)
        where TSpace : ISpace => [.. Split(text).Select(p => Point<TSpace>(p, option))];

    public static IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> Pairs(
        string text,
        string option
    ) =>
        [
            .. Split(text)
                .Select(p => p.Split('='))
                .Select(p =>
                    p.Length == 2
                        ? (Point<ClothSpace>(p[0], option), Point<ProjectorSpace>(p[1], option))
                        : throw new InputException(
                            $"\"{string.Join('=', p)}\" is no pair of points",
                            option,
                            "Give cloth inches = projector pixels: \"0,0=102,88 24,0=1820,95 …\"."
                        )
                ),
        ];

    /// <summary>Cards with the places of their middles: <c>3=0,0 7=40,0</c>.</summary>
    public static IReadOnlyList<(int Card, Point<ClothSpace> At)> CardPlaces(string text, string option) =>
        [
            .. Split(text)
                .Select(p => p.Split('='))
                .Select(p =>
                    p.Length == 2 && int.TryParse(p[0], NumberStyles.None, CultureInfo.InvariantCulture, out int card)
                        ? (card, Point<ClothSpace>(p[1], option))
                        : throw new InputException(
                            $"\"{string.Join('=', p)}\" is no card with its place",
                            option,
                            "Give card = inches of its middle for two or more cards: \"3=0,0 7=40,0\"."
                        )
                ),
        ];

    /// <summary>Names with commas, semicolons or spaces between; none where the option is not given.</summary>
    public static IReadOnlyList<string> Names(string? text, string option)
    {
        if (text is null)
        {
            return [];
        }

        string[] names = [.. Split(text.Replace(',', ' ')).Distinct()];
        return names.Length > 0
            ? names
            : throw new InputException("No id is given", option, "Give ids of seams with commas between: s3,s7.");
    }

    private static string[] Split(string text) =>
        text.Split([' ', ';', '\n', '\t'], StringSplitOptions.RemoveEmptyEntries);

    private static bool Coordinate(string text, out double value) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value)
        && double.IsFinite(value)
        && Math.Abs(value) < 1e9;
}
