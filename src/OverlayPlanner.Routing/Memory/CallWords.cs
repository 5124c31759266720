using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>Puts a call into words.</summary>
/// <remarks>
/// A verse holds at most seven phrases: what a person keeps in mind at once is three or four loose items, more where they have
/// structure (Chekaf, Cowan &amp; Mathy, Cognition 155, 2016).
/// </remarks>
internal sealed class CallWords
{
    private const int MostPhrases = 7;

    private static readonly string[] Numbers =
    [
        "no",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
    ];

    private static readonly string[] Ordinals = ["", "second ", "third ", "fourth ", "fifth ", "sixth "];

    private readonly Box<ClothSpace> box;
    private readonly Dictionary<(CallTurn, CallLine, Side?), int> alike = [];
    private readonly Dictionary<(CallTurn, CallLine, Side?), int> longestToEnd = [];

    private CallWords(Box<ClothSpace> box) => this.box = box;

    /// <summary>The call's verses.</summary>
    public static IReadOnlyList<string> Verses(
        QuiltMap quilt,
        CallLines lines,
        IReadOnlyList<CallThread> threads,
        IReadOnlyList<int[]> runs,
        string? block
    )
    {
        Box<ClothSpace> frame =
            block is not null && quilt.FindBlock(block) is { } b
                ? Box<ClothSpace>.Around(b.Corners)
                : new(0, 0, quilt.Width.Inches, quilt.Height.Inches);
        CallWords words = new(frame);
        words.LearnAmbiguities(lines, threads, runs);
        List<string> verses = [];
        foreach (CallThread thread in threads)
        {
            verses.AddRange(words.OfThread(thread, verses.Count + 1));
        }

        return verses;
    }

    // Where two lines of one kind turn alike, the call says which.
    private void LearnAmbiguities(CallLines lines, IReadOnlyList<CallThread> threads, IReadOnlyList<int[]> runs)
    {
        bool[] stitched = new bool[lines.LineCount];
        ThreadSteps[] steps = [.. runs.Select(r => ThreadSteps.Read(lines, r, stitched))];
        foreach (CallThread thread in threads)
        {
            foreach (CallStart start in thread.Starts)
            {
                ThreadSteps s = steps[start.Run];
                Vector<ClothSpace> heading = CallWriter.Ways[(int)start.Facing];
                for (int i = 0; i < s.Count; i++)
                {
                    int first = s.FirstOf(i);
                    CallTurn turn = CallCode.TurnOf(lines.TurnFrom(heading, first));
                    Side? bow = lines.BowOf(first);
                    if (start.Mirrored)
                    {
                        (turn, bow) = (turn.Mirror(), bow.Mirrored());
                    }

                    (CallTurn, CallLine, Side?) key = (turn, lines.KindOf(first), bow);
                    alike[key] = Math.Max(alike.GetValueOrDefault(key), lines.CountAlike(heading, first));
                    if (lines.ChainOf(first) == s.MovesOf(i))
                    {
                        longestToEnd[key] = Math.Max(longestToEnd.GetValueOrDefault(key), s.MovesOf(i));
                    }

                    heading = lines.HeadingOf(s.LastOf(i) ^ 1);
                }
            }
        }
    }

    // number: of the first verse.
    private List<string> OfThread(CallThread thread, int number)
    {
        List<string> verses = OfRow(thread.Items, number);
        string begin = number > 1 ? "A new start" : "Start";
        if (thread.Starts is [var only])
        {
            verses[0] = $"{begin} {PlaceOf(only.At)}, facing {WayOf(only.Facing)}. {verses[0]}";
            return verses;
        }

        IEnumerable<string> places = thread.Starts.Select(s =>
            $"{PlaceOf(s.At)}, facing {WayOf(s.Facing)}{(s.Mirrored ? ", mirrored" : "")}"
        );
        string by = verses.Count > 1 ? $" by {Range(number, verses.Count)}" : "";
        verses[0] =
            $"{Capital(NumberOf(thread.Starts.Count))} threads go alike{by}; they start {string.Join("; ", places)}. {verses[0]}";
        return verses;
    }

    private static string Range(int first, int count) =>
        count == 1
            ? string.Create(CultureInfo.InvariantCulture, $"verse {first}")
            : string.Create(
                CultureInfo.InvariantCulture,
                $"verses {first} {(count == 2 ? "and" : "to")} {first + count - 1}"
            );

    /// <summary>A row as whole sentences, each a verse.</summary>
    private List<string> OfRow(IReadOnlyList<CallItem> items, int number)
    {
        List<string> verses = [];
        List<string> open = [];
        int phrases = 0;
        foreach (CallItem item in items)
        {
            int count = PhrasesOf(item);
            if (item is CallStep || (item is CallAgain a && Unrolled(a) is not null))
            {
                if (phrases + count > MostPhrases)
                {
                    Close();
                }

                open.Add(Phrase(item));
                phrases += count;
                continue;
            }

            // What is said again has a verse to itself, so that nobody asks where it begins.
            Close();
            string whole = Phrase(item, outermost: true);
            if (count <= MostPhrases && DepthOf(whole) <= 1)
            {
                open.Add(whole);
                Close();
                continue;
            }

            verses.AddRange(LongVerses(item, number + verses.Count));
        }

        Close();
        return verses;

        void Close()
        {
            if (open.Count > 0)
            {
                verses.Add(Capital(string.Join("; ", open)) + ".");
            }

            open.Clear();
            phrases = 0;
        }
    }

    private List<string> LongVerses(CallItem item, int number)
    {
        if (item is CallRepeat repeat)
        {
            List<string> body = OfRow(repeat.Items, number);
            string scope = body.Count == 1 ? "" : $", {Range(number, body.Count)}";
            body[0] = $"{Capital(TimesOf(repeat.Times))}{scope}: {Small(body[0])}";
            return body;
        }

        CallAgain again = (CallAgain)item;
        List<string> verses = OfRow(again.Items, number);
        string what = Range(number, verses.Count);
        string tail = again.Kind switch
        {
            AgainKind.Mirrored => $"{what} again, mirrored.",
            AgainKind.Backwards => $"{JointOf(again)}, and {what} backwards.",
            _ => $"{JointOf(again)}, and {what} backwards and mirrored.",
        };
        List<string> between = again.Between.Count > 0 ? OfRow(again.Between, number + verses.Count) : [];
        if (between is [var one])
        {
            verses.Add($"{one[..^1]}; then {tail}");
            return verses;
        }

        verses.AddRange(between);
        verses.Add(Capital(tail));
        return verses;
    }

    // Brackets within brackets are hard to hear.
    private static int DepthOf(string text)
    {
        int depth = 0;
        int deepest = 0;
        foreach (char c in text)
        {
            depth +=
                c == '(' ? 1
                : c == ')' ? -1
                : 0;
            deepest = Math.Max(deepest, depth);
        }

        return deepest;
    }

    private static int PhrasesOf(CallItem item) =>
        item switch
        {
            CallRepeat r => r.Items.Sum(PhrasesOf),
            CallAgain a => a.Items.Sum(PhrasesOf) + a.Between.Sum(PhrasesOf) + 1,
            _ => 1,
        };

    private string Phrase(CallItem item, bool outermost = false)
    {
        switch (item)
        {
            case CallStep step:
                return OfStep(step);
            case CallRepeat repeat:
                return outermost || repeat.Items is [CallStep]
                    ? $"{TimesOf(repeat.Times)}: {Row(repeat.Items)}"
                    : $"{TimesOf(repeat.Times)} ({Row(repeat.Items)})";
            default:
                CallAgain again = (CallAgain)item;
                return Unrolled(again) is { } two ? string.Join("; ", two.Select(OfStep)) : OfAgain(again);
        }
    }

    private string OfAgain(CallAgain again)
    {
        string between = again.Between.Count == 0 ? "" : $", then {Part(again.Between)}";
        string what = again.Between.Count == 0 ? "the same" : "the first part again";
        return again.Kind switch
        {
            AgainKind.Mirrored => $"{Part(again.Items)}{between}, then {what} mirrored",
            AgainKind.Backwards => $"{Part(again.Items)}{between}, then {JointOf(again)} and {what} backwards",
            _ => $"{Part(again.Items)}{between}, then {JointOf(again)} and {what} backwards and mirrored",
        };
    }

    // One step said again is easier to hear as two.
    private CallStep[]? Unrolled(CallAgain again)
    {
        if (again.Items is not [CallStep one] || again.Between.Count > 0)
        {
            return null;
        }

        if (again.Kind == AgainKind.Mirrored)
        {
            return [one, one.Mirror()];
        }

        // Backwards counts pieces; to a line's end there may be others.
        return (one.Pieces ?? LengthToEnd(one)) != 1 && one.Pieces is null || again.StepsAcross
            ? null
            :
            [
                one,
                one with
                {
                    Turn = again.Turn ?? default,
                    Bow = again.Kind == AgainKind.Backwards ? one.Bow : one.Bow.Mirrored(),
                    StepsAcross = false,
                },
            ];
    }

    // What is said again must show where it begins and ends.
    private string Part(IReadOnlyList<CallItem> items) => items is [CallStep step] ? OfStep(step) : $"({Row(items)})";

    private string Row(IReadOnlyList<CallItem> items) =>
        string.Join(
            "; ",
            items.Select(i => items.Count > 1 && i is CallAgain a && Unrolled(a) is null ? $"({Phrase(i)})" : Phrase(i))
        );

    private static string JointOf(CallAgain again) =>
        again.StepsAcross ? "step across" : TurnWords(again.Turn ?? default);

    private string OfStep(CallStep s)
    {
        string way = s.StepsAcross ? "step across, straight on" : TurnWords(s.Turn);
        int several = alike.GetValueOrDefault((s.Turn, s.Line, s.Bow));
        string which =
            several <= 1 ? ""
            : several == 2 ? (s.Turn.Pick == 0 ? "the gentler " : "the sharper ")
            : $"the {Ordinals[Math.Min(s.Turn.Pick, Ordinals.Length - 1)]}gentlest ";
        string the = which.Length > 0 ? which : "the ";
        string bow = s.Bow is { } side ? $" bowing {SideOf(side)}" : "";
        return s.Line switch
        {
            CallLine.Arc => $"{way}, {which}arc{bow}",
            CallLine.Line => $"{way} along {the}inner line{ReachOf(s)}",
            CallLine.Outline => $"{way} along {the}outline{bow}{ReachOf(s)}",
            _ when s.Bow is not null => $"{way} along {the}curved seam{bow}",
            _ => $"{way} along {the}seam{ReachOf(s)}",
        };
    }

    // The most pieces that such a step takes to its line's end; 0 where it is never told so.
    private int LengthToEnd(CallStep s) => longestToEnd.GetValueOrDefault((s.Turn, s.Line, s.Bow));

    private string ReachOf(CallStep s) =>
        s.Bow is not null || (s.Pieces ?? LengthToEnd(s)) == 1 ? ""
        : s.Pieces is not { } n ? " to its end"
        : n == 2 ? " past one point"
        : $" past {NumberOf(n - 1)} points";

    private static string TurnWords(CallTurn turn)
    {
        string side = turn.Side is { } s ? SideOf(s) : "";
        return turn.Size switch
        {
            TurnSize.Straight => turn.Side is null ? "straight on" : $"straight on, keeping {side}",
            TurnSize.Bear => $"bear {side}",
            TurnSize.Turn => $"turn {side}",
            TurnSize.Sharp => $"sharp {side}",
            _ => turn.Side is null ? "turn back" : $"turn back, keeping {side}",
        };
    }

    private string PlaceOf(Point<ClothSpace> p)
    {
        const double Near = 1e-3;
        double left = p.X - box.Left;
        double top = p.Y - box.Top;
        double right = box.Right - p.X;
        double bottom = box.Bottom - p.Y;
        string? vertical =
            Math.Abs(top) < Near ? "top"
            : Math.Abs(bottom) < Near ? "bottom"
            : null;
        string? horizontal =
            Math.Abs(left) < Near ? "left"
            : Math.Abs(right) < Near ? "right"
            : null;
        if (vertical is not null && horizontal is not null)
        {
            return $"at the {vertical} {horizontal} corner";
        }

        if (vertical is not null || horizontal is not null)
        {
            double along = vertical is not null ? left : top;
            double length = vertical is not null ? box.Width : box.Height;
            string from = vertical is not null ? "the left" : "the top";
            string where = Math.Abs(2 * along - length) < Near ? "in the middle of" : "on";
            string much = where == "on" ? $", {Inches(along)} from {from}" : "";
            return $"{where} the {vertical ?? horizontal} side{much}";
        }

        return Math.Abs(left - right) < Near && Math.Abs(top - bottom) < Near
            ? "at the middle"
            : $"at the point {Inches(left)} from the left and {Inches(top)} from the top";
    }

    private static string Inches(double inches) => $"{Length.FromInches(inches).ToSixteenths()} in";

    private static string WayOf(Facing facing) =>
        facing switch
        {
            Facing.Up => "up",
            Facing.UpRight => "up and right",
            Facing.Right => "right",
            Facing.DownRight => "down and right",
            Facing.Down => "down",
            Facing.DownLeft => "down and left",
            Facing.Left => "left",
            _ => "up and left",
        };

    private static string SideOf(Side side) => side == Side.Left ? "left" : "right";

    private static string TimesOf(int times) => times == 2 ? "twice" : $"{NumberOf(times)} times";

    private static string NumberOf(int n) => n < Numbers.Length ? Numbers[n] : n.ToString(CultureInfo.InvariantCulture);

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    private static string Small(string text) => char.ToLowerInvariant(text[0]) + text[1..];
}
