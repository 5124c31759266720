using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering;

/// <summary>A sheet of paper, upright or as the user gave it.</summary>
/// <param name="Name">How a person calls it.</param>
/// <param name="Width">Across.</param>
/// <param name="Height">Down.</param>
public sealed record PaperSize(string Name, Length Width, Length Height)
{
    /// <summary>The smallest and the largest side that a custom paper may have.</summary>
    /// <remarks>
    /// Below 3 in no check square stands beside the cloth. Above 200 in (14,400 pt) PDF readers may refuse the page (ISO
    /// 32000-1, annex C).
    /// </remarks>
    public static readonly (Length Least, Length Most) Sides = (Length.FromInches(3), Length.FromInches(200));

    /// <summary>8 1/2 × 11 in, size A of ASME Y14.1.</summary>
    public static readonly PaperSize Letter = new("Letter", Length.FromInches(8.5), Length.FromInches(11));

    /// <summary>8 1/2 × 14 in (common practice, no standard).</summary>
    public static readonly PaperSize Legal = new("Legal", Length.FromInches(8.5), Length.FromInches(14));

    /// <summary>11 × 17 in, size B of ASME Y14.1.</summary>
    public static readonly PaperSize Tabloid = new("Tabloid", Length.FromInches(11), Length.FromInches(17));

    /// <summary>210 × 297 mm (ISO 216).</summary>
    public static readonly PaperSize A4 = new("A4", Length.FromMillimeters(210), Length.FromMillimeters(297));

    /// <summary>297 × 420 mm (ISO 216).</summary>
    public static readonly PaperSize A3 = new("A3", Length.FromMillimeters(297), Length.FromMillimeters(420));

    /// <summary>The same paper turned by a quarter.</summary>
    public PaperSize Turned => this with { Width = Height, Height = Width };

    /// <summary>The name. The generated text would print <see cref="Turned"/> for ever.</summary>
    public override string ToString() => Name;

    /// <summary>
    /// Reads <c>letter</c>, <c>legal</c>, <c>tabloid</c>, <c>a4</c>, <c>a3</c>, or width × height in inches or millimetres:
    /// <c>13x19</c>, <c>8.5x11</c>, <c>330x483mm</c>, <c>330mmx483mm</c>. Upper or lower case.
    /// </summary>
    /// <exception cref="InputException">It is none of these, or a side lies outside <see cref="Sides"/>.</exception>
    public static PaperSize Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        string s = text.Trim().ToLowerInvariant();
        switch (s)
        {
            case "letter":
                return Letter;
            case "legal":
                return Legal;
            case "tabloid" or "11x17":
                return Tabloid;
            case "a4":
                return A4;
            case "a3":
                return A3;
        }

        string[] sides = s.Split('x', '×');
        if (sides.Length == 2)
        {
            // A unit behind the second number is meant for both.
            bool both = sides[1].EndsWith("mm", StringComparison.Ordinal);
            string first = both && char.IsAsciiDigit(sides[0].TrimEnd().LastOrDefault()) ? sides[0] + "mm" : sides[0];
            if (Length.TryParse(first, out Length width) && Length.TryParse(sides[1], out Length height))
            {
                if (width < Sides.Least || height < Sides.Least || width > Sides.Most || height > Sides.Most)
                {
                    throw new InputException(
                        $"A paper's sides must be from 3 to 200 in; those of \"{text}\" are not",
                        "--paper",
                        "Give width x height in inches, for example 13x19, or in millimetres, 330x483mm."
                    );
                }

                return new(
                    string.Create(CultureInfo.InvariantCulture, $"{width.ToSixteenths()} × {height.ToSixteenths()} in"),
                    width,
                    height
                );
            }
        }

        throw new InputException(
            $"\"{text}\" is no paper size",
            "--paper",
            "Use letter, legal, tabloid, a4, a3, or width x height such as 13x19 or 330x483mm."
        );
    }
}
