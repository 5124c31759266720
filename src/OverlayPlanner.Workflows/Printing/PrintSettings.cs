using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Printing;

/// <summary>How a quilt's sheets were last asked for, kept with the quilt.</summary>
public sealed record PrintSettings
{
    /// <summary>Name of its file in a quilt's folder.</summary>
    public const string FileName = "print.json";

    private static readonly JsonSerializerOptions Plain = new(JsonSerializerDefaults.Web) { WriteIndented = true };

    /// <summary>As <see cref="SheetWords.Paper"/>.</summary>
    public string Paper { get; init; } = "letter";

    /// <summary>As <see cref="SheetWords.Each"/>.</summary>
    public string Each { get; init; } = "top";

    /// <summary>As <see cref="SheetWords.Use"/>.</summary>
    public string Use { get; init; } = "trace";

    /// <summary>As <see cref="SheetWords.Up"/>.</summary>
    public string Up { get; init; } = "top";

    /// <summary>As <see cref="SheetWords.Mirror"/>.</summary>
    public bool Mirror { get; init; }

    /// <summary>What the check square measures across, as typed; empty for 1 in.</summary>
    public string Across { get; init; } = "";

    /// <summary>What it measures down the page, as typed; empty for 1 in.</summary>
    public string Down { get; init; } = "";

    /// <summary>As the sheets take it.</summary>
    /// <exception cref="InputException">A measure is no length.</exception>
    public SheetWords ToWords() =>
        new()
        {
            Paper = Paper,
            Each = Each,
            Use = Use,
            Up = Up,
            Mirror = Mirror,
            Measured = Across.Trim().Length + Down.Trim().Length == 0 ? null : (Mark(Across), Mark(Down)),
        };

    /// <summary>As the stitch card takes it, which has two papers.</summary>
    public CardWords ToCard() =>
        new(Paper is "a4" or "a3" || Paper.EndsWith("mm", StringComparison.OrdinalIgnoreCase) ? "a4" : "letter", Up);

    /// <summary>What was kept with a quilt; the usual settings where nothing was or it can't be read.</summary>
    public static PrintSettings Of(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        string path = quilt.PathOf(FileName);
        if (!File.Exists(path))
        {
            return new();
        }

        try
        {
            PrintSettings? read = JsonSerializer.Deserialize<PrintSettings>(InputFiles.ReadAll(path).Span, Plain);
            if (
                read
                is not {
                    Paper: not null,
                    Each: not null,
                    Use: not null,
                    Up: not null,
                    Across: not null,
                    Down: not null
                }
            )
            {
                return new();
            }

            // What the sheets would refuse is not brought back.
            read.ToWords().ToWishes();
            return read;
        }
        catch (Exception e) when (e is JsonException or InputException)
        {
            // A preference is no work: the quilt opens without it.
            return new();
        }
    }

    /// <summary>Keeps it with the quilt.</summary>
    /// <exception cref="InputException">The quilt can't be written.</exception>
    public KeptQuilt Keep(QuiltStore store, KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(store);
        return store.Save(quilt, (FileName, JsonSerializer.SerializeToUtf8Bytes(this, Plain)));
    }

    private static Length Mark(string text) =>
        text.Trim().Length == 0 ? Length.FromInches(1)
        : Length.TryParse(text, out Length length) ? length
        : throw new InputException(
            $"\"{text}\" is no length",
            "the check square",
            "Type what the ruler says: 1, 31/32 or 25.1mm."
        );
}
