using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>How well rows, columns and names are read from spoilt drafts of whole tops; no pictures are made.</summary>
public static class LatticeScoreboard
{
    /// <summary>The kinds of settings, each drafted equally often.</summary>
    internal static readonly IReadOnlyList<string> Settings =
    [
        "straight",
        "sashed with cornerstones",
        "sashed without cornerstones",
        "straight with plain blocks in turn",
        "straight in unequal borders",
        "on point",
        "on point, sashed",
        "on point with plain blocks in turn",
        "on point in borders",
        "two patterns in turn",
        "sampler",
        "blocks turned and mirrored",
        "one block in borders",
        "cut off by the picture's edge",
        "turned by a few degrees",
    ];

    /// <summary>Rows for the board.</summary>
    /// <param name="quick">A quarter of the tops.</param>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        int each = quick ? 5 : 20;
        Spoiling usual = new(0.125, 0.1, 0.1);
        List<Outcome> all = [];
        for (int setting = 0; setting < Settings.Count; setting++)
        {
            for (int i = 0; i < each; i++)
            {
                all.Add(Try(setting, 7000 + 100 * setting + i, usual));
            }
        }

        List<(string, string, string, bool)> rows = [];
        string tops = string.Create(
            CultureInfo.InvariantCulture,
            $"{all.Count} drafted tops, wobble 1/8 in, 10 % of seams missing, 10 % false"
        );
        double exact = all.Average(o => o.Exact ? 1.0 : 0);
        rows.Add(($"{tops}: rows × columns exact", Percent(exact), "≥ 95 %", exact >= 0.95));
        double[] pitch = [.. all.Where(o => o.Exact).Select(o => o.PitchOff).Order()];
        double p95 = pitch.Length == 0 ? 1 : pitch[(int)(0.95 * (pitch.Length - 1))];
        rows.Add(
            (
                "the same tops: pitch, median and P95",
                $"{Percent(pitch.Length == 0 ? 1 : pitch[pitch.Length / 2], 2)}, {Percent(p95, 2)}",
                "≤ 0.3 %",
                p95 <= 0.003
            )
        );
        double named = (double)all.Sum(o => o.Right) / Math.Max(1, all.Sum(o => o.Patterned));
        rows.Add(
            (
                "the same tops: blocks named right / wrong / not named",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{all.Sum(o => o.Right)} / {all.Sum(o => o.Wrong)} / {all.Sum(o => o.Patterned - o.Right - o.Wrong)}"
                ),
                "≥ 95 % right",
                named >= 0.95
            )
        );
        foreach (IGrouping<string, Outcome> g in all.GroupBy(o => o.Setting).Where(g => g.Any(o => !o.Exact)))
        {
            rows.Add(
                (
                    $"of these {g.Key}",
                    string.Create(CultureInfo.InvariantCulture, $"{g.Count(o => o.Exact)} of {g.Count()}"),
                    "for information",
                    true
                )
            );
        }

        (int unknown, int foreign) = Foreign(quick ? 20 : 60);
        rows.Add(
            (
                "foreign patterns: not named",
                string.Create(CultureInfo.InvariantCulture, $"{unknown} of {foreign}"),
                "≥ 90 %",
                unknown >= 0.9 * foreign
            )
        );
        double slowest = all.Max(o => o.Seconds);
        rows.Add(
            (
                "longest reading of a top",
                string.Create(CultureInfo.InvariantCulture, $"{slowest:0.00} s"),
                "for information (≤ 1 s)",
                true
            )
        );
        return rows;
    }

    /// <summary>One top, drafted, spoilt and read.</summary>
    internal static Outcome Try(int setting, int seed, Spoiling usual)
    {
        Random random = new(seed);
        (QuiltMap draft, Spoiling how) = DraftTop(setting, random, usual);
        DraftedTop top = DraftedTop.Spoil(draft, how, random);
        Stopwatch clock = Stopwatch.StartNew();
        IReadOnlyList<Block> found = BlockLattice.Find(top.Map);
        double seconds = clock.Elapsed.TotalSeconds;
        return Compare(Settings[setting], seed, top, found, seconds);
    }

    /// <summary>A draft of a setting and how it is spoilt.</summary>
    internal static (QuiltMap Draft, Spoiling How) DraftTop(int setting, Random random, Spoiling usual)
    {
        BlockDraft one = Pick(random);
        BlockDraft other = Pick(random);
        double[] sizes = [6, 8, 9, 10, 12];
        double size = sizes[random.Next(sizes.Length)];
        int columns = random.Next(2, 6);
        int rows = random.Next(2, 6);
        double[] strips = [1, 1.5, 2, 3];
        double strip = strips[random.Next(strips.Length)];
        SettingWishes wishes = new()
        {
            Block = Length.FromInches(size),
            Columns = columns,
            Rows = rows,
            PlaceAt = (_, _) => new(one),
            ColorOf = Hue,
        };
        Spoiling how = usual;
        switch (Settings[setting])
        {
            case "sashed with cornerstones":
                wishes = wishes with { Sash = Length.FromInches(strip) };
                break;
            case "sashed without cornerstones":
                wishes = wishes with { Sash = Length.FromInches(strip), Cornerstones = Cornerstones.None };
                break;
            case "straight with plain blocks in turn":
                wishes = wishes with
                {
                    PlaceAt = (r, c) => (r + c) % 2 == 0 ? new(one) : new(null),
                    Columns = columns + 1,
                };
                break;
            case "straight in unequal borders":
                wishes = wishes with
                {
                    Borders = Borders(random, equal: false),
                    BorderCorners = (BorderCorners)random.Next(3),
                };
                break;
            case "on point":
                wishes = wishes with { Kind = SettingKind.OnPoint };
                break;
            case "on point, sashed":
                wishes = wishes with { Kind = SettingKind.OnPoint, Sash = Length.FromInches(strip) };
                break;
            case "on point with plain blocks in turn":
                wishes = wishes with
                {
                    Kind = SettingKind.OnPoint,
                    PlaceAt = (r, _) => r % 2 == 0 ? new(one) : new(null),
                };
                break;
            case "on point in borders":
                wishes = wishes with
                {
                    Kind = SettingKind.OnPoint,
                    Borders = Borders(random, equal: true),
                    BorderCorners = (BorderCorners)random.Next(3),
                };
                break;
            case "two patterns in turn":
                wishes = wishes with { PlaceAt = (r, c) => new((r + c) % 2 == 0 ? one : other) };
                break;
            case "sampler":
                BlockDraft[] many = [.. Enumerable.Range(0, 50).Select(_ => Pick(random))];
                wishes = wishes with { PlaceAt = (r, c) => new(many[r * 7 + c]), Sash = Length.FromInches(strip) };
                break;
            case "blocks turned and mirrored":
                (int, bool)[] ways = [.. Enumerable.Range(0, 50).Select(_ => (random.Next(4), random.Next(2) == 1))];
                wishes = wishes with { PlaceAt = (r, c) => new(one, ways[r * 7 + c].Item1, ways[r * 7 + c].Item2) };
                break;
            case "one block in borders":
                wishes = wishes with
                {
                    Columns = 1,
                    Rows = 1,
                    Block = Length.FromInches(size + 6),
                    Borders = Borders(random, equal: random.Next(2) == 0),
                };
                break;
            case "cut off by the picture's edge":
                wishes = wishes with { Columns = columns + 2, Rows = rows + 2 };
                how = how with { Cut = (Part(columns), Part(rows), Part(columns), Part(rows)) };
                break;
            case "turned by a few degrees":
                how = how with { TurnDegrees = 1 + 5 * random.NextDouble() };
                break;
            default:
                break;
        }

        return (SettingDraft.Draft(wishes), how);

        // A fifth to four fifths of a block.
        double Part(int count) => (0.2 + 0.6 * random.NextDouble()) / (count + 2);
    }

    // Blocks of the library that say where they begin: a grid of squares or strips alone does not, nor do units of two or
    // three patches, which a single lost seam leaves plain.
    private static BlockDraft Pick(Random random)
    {
        BlockDraft[] pool = Pool.Value;
        return pool[random.Next(pool.Length)];
    }

    internal static readonly Lazy<BlockDraft[]> Pool = new(() =>
        [.. BlockLibrary.All.Where(d => d.Patches.Count >= 4 && !CellPattern.Of(d).IsPlainGrid && !RepeatsInside(d))]
    );

    // A pattern whose repeats hold it again a part of a block on, or its quarters, has two right readings.
    private static bool RepeatsInside(BlockDraft draft)
    {
        QuiltMap four = BlockDrafting.Draft(draft, Length.FromInches(1), 2, 2, Length.Zero);
        Edge<ClothSpace>[] lines = [.. four.Seams.Select(four.EdgeOf)];
        CellPattern whole = At(0, 0, 1);
        double[] parts = [0, 0.25, 1 / 3.0, 0.5, 2 / 3.0, 0.75];
        bool shifted = parts
            .SelectMany(_ => parts, (x, y) => (x, y))
            .Where(c => c != (0, 0))
            .Any(c =>
                At(c.x, c.y, 1) is var other && Orientation.All.Any(o => other.AgreementWith(whole.In(o), 0.03) > 0.95)
            );
        CellPattern first = At(0, 0, 0.5);
        bool quartered = new[] { (0.5, 0.0), (0.5, 0.5), (0.0, 0.5) }.All(c =>
            At(c.Item1, c.Item2, 0.5).AgreementWith(first, 0.03) > 0.95
        );
        return shifted || quartered;

        CellPattern At(double x, double y, double side) =>
            CellPattern.Of(lines, new([new(x, y), new(x + side, y), new(x + side, y + side), new(x, y + side)]), 1e-6);
    }

    private static BorderBand[] Borders(Random random, bool equal)
    {
        double[] widths = [1, 1.5, 2, 3, 4, 6];
        BorderBand[] bands = new BorderBand[random.Next(1, 4)];
        for (int i = 0; i < bands.Length; i++)
        {
            Length w = Width();
            bands[i] = equal ? BorderBand.Equal(w) : new(Width(), w, Width(), w);
        }

        return bands;

        Length Width() => Length.FromInches(widths[random.Next(widths.Length)]);
    }

    private static string Hue(SettingPart part, PatchValue? value) =>
        part switch
        {
            SettingPart.Block => value switch
            {
                PatchValue.Light => "#efe8d8",
                PatchValue.Medium => "#b08a50",
                PatchValue.Dark => "#303a60",
                _ => "#d8d8d8",
            },
            SettingPart.Sash => "#607060",
            SettingPart.Cornerstone => "#802020",
            SettingPart.Border => "#406080",
            _ => "#c0b0a0",
        };

    private static Outcome Compare(string setting, int seed, DraftedTop top, IReadOnlyList<Block> found, double seconds)
    {
        Dictionary<(int?, int?), Block> truth = top.Truth.ToDictionary(b => (b.Row, b.Column));
        double side = top.Truth.Average(b => b.Corners[0].DistanceTo(b.Corners[1]));
        bool exact =
            found.Count == truth.Count
            && found.All(f =>
                truth.TryGetValue((f.Row, f.Column), out Block? t)
                && Enumerable.Range(0, 4).All(i => t.Corners[i].DistanceTo(f.Corners[i]) <= 0.1 * side)
            );
        int patterned = top.Truth.Count(b => b.Pattern is not null);
        if (!exact)
        {
            return new(setting, seed, false, 1, 0, 0, patterned, seconds, Words(top.Truth, found));
        }

        int right = 0;
        int wrong = 0;
        foreach (Block f in found)
        {
            Block t = truth[(f.Row, f.Column)];
            right += t.Pattern is not null && f.Pattern == t.Pattern ? 1 : 0;
            wrong += f.Pattern is not null && f.Pattern != t.Pattern ? 1 : 0;
        }

        double off = Math.Abs(Pitch(found) / Pitch(top.Truth) - 1);
        string names = string.Join(
            ",",
            found
                .Where(f => f.Pattern != truth[(f.Row, f.Column)].Pattern)
                .Select(f => $"{truth[(f.Row, f.Column)].Pattern ?? "plain"}→{f.Pattern ?? "unknown"}")
                .Distinct()
        );
        return new(setting, seed, true, off, right, wrong, patterned, seconds, names);
    }

    // Mean distance of neighbours' middles; where there are none, the mean side.
    private static double Pitch(IReadOnlyList<Block> blocks)
    {
        List<double> steps = [];
        for (int i = 0; i < blocks.Count; i++)
        {
            for (int k = i + 1; k < blocks.Count; k++)
            {
                int rows = Math.Abs(blocks[i].Row!.Value - blocks[k].Row!.Value);
                int columns = Math.Abs(blocks[i].Column!.Value - blocks[k].Column!.Value);
                if (rows + columns == 1 || (rows == 1 && columns == 1))
                {
                    double diagonal = rows + columns == 2 && !blocks.Any(b => (b.Row + b.Column) % 2 != 0) ? 1 : 0;
                    if (rows + columns == 1 || diagonal == 1)
                    {
                        steps.Add(Middle(blocks[i]).DistanceTo(Middle(blocks[k])));
                    }
                }
            }
        }

        return steps.Count > 0
            ? steps.Average()
            : blocks.Average(b => Enumerable.Range(0, 4).Average(i => b.Corners[i].DistanceTo(b.Corners[(i + 1) % 4])));
    }

    private static Point<ClothSpace> Middle(Block b) => new(b.Corners.Average(c => c.X), b.Corners.Average(c => c.Y));

    private static string Words(IReadOnlyList<Block> truth, IReadOnlyList<Block> found) =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"{truth[0].Pattern}: {truth.Max(b => b.Row) + 1}x{truth.Max(b => b.Column) + 1} of {truth[0].Corners[0].DistanceTo(truth[0].Corners[1]):0.0} read as {(found.Count == 0 ? 0 : found.Max(b => b.Row) + 1)}x{(found.Count == 0 ? 0 : found.Max(b => b.Column) + 1)} of {(found.Count == 0 ? 0 : found[0].Corners[0].DistanceTo(found[0].Corners[1])):0.0}, {(found.Count == 0 ? "-" : found[0].Pattern)}"
        );

    // Patterns that are in no library: squares split at random, three at a time on lines of a grid, with diagonals.
    private static (int Unknown, int Tried) Foreign(int count)
    {
        int unknown = 0;
        for (int seed = 0; seed < count; seed++)
        {
            Random random = new(9000 + seed);
            BlockDraft draft = ForeignDraft.Make(random);
            QuiltMap map = SettingDraft.Draft(
                new()
                {
                    Block = Length.FromInches(12),
                    Columns = 2,
                    Rows = 2,
                    Sash = Length.FromInches(2),
                    PlaceAt = (_, _) => new(draft),
                }
            );
            DraftedTop top = DraftedTop.Spoil(map, new(0.125, 0, 0), random);
            unknown += BlockLattice.Find(top.Map).All(b => b.Pattern is null) ? 1 : 0;
        }

        return (unknown, count);
    }

    private static string Percent(double part, int digits = 1) =>
        (100 * part).ToString(digits == 1 ? "0.0" : "0.00", CultureInfo.InvariantCulture) + " %";

    /// <summary>How one top was read.</summary>
    internal sealed record Outcome(
        string Setting,
        int Seed,
        bool Exact,
        double PitchOff,
        int Right,
        int Wrong,
        int Patterned,
        double Seconds,
        string Words
    );
}
