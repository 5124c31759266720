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
        Box<ClothSpace> box =
            block is not null && quilt.FindBlock(block) is { } b
                ? Box<ClothSpace>.Around(b.Corners)
                : new(0, 0, quilt.Width.Inches, quilt.Height.Inches);
        CallWords words = new(box);
        words.LearnAmbiguities(lines, threads, runs);
        return [.. threads.SelectMany((t, i) => words.OfThread(t, i > 0))];
    }

    /// <summary>What a follower does at a point reached again, in a sentence.</summary>
    public static string RuleOf(RouteCall call)
    {
        ArgumentNullException.ThrowIfNull(call);
        string rule = call.Rule switch
        {
            DefaultRule.KeepLeft => "keep left",
            DefaultRule.KeepRight => "keep right",
            _ => "go as straight on as you can",
        };
        string but = call.DecisionPoints switch
        {
            0 => "That is always right",
            1 => "Once the call says otherwise",
            2 => "Twice the call says otherwise",
            _ => $"{Capital(NumberOf(call.DecisionPoints))} times the call says otherwise",
        };
        return $"At a point where you have been before, {rule} among the lines not stitched yet. {but}.";
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
                    heading = lines.HeadingOf(s.LastOf(i) ^ 1);
                }
            }
        }
    }

    private List<string> OfThread(CallThread thread, bool isLater)
    {
        List<string> verses = OfRow(thread.Items);
        string begin = isLater ? "A new start" : "Start";
        string lead;
        if (thread.Starts.Count == 1)
        {
            lead = $"{begin} {PlaceOf(thread.Starts[0].At)}, facing {WayOf(thread.Starts[0].Facing)}. ";
        }
        else
        {
            string[] places =
            [
                .. thread.Starts.Select(s =>
                    $"{PlaceOf(s.At)}, facing {WayOf(s.Facing)}{(s.Mirrored ? ", mirrored" : "")}"
                ),
            ];
            lead =
                $"{NumberOf(thread.Starts.Count)} threads go alike{(verses.Count > 1 ? $", each by the next {NumberOf(verses.Count)} verses" : "")}: {string.Join("; ", places)}. Each: ";
        }

        verses[0] = Capital(lead) + (thread.Starts.Count == 1 ? verses[0] : Small(verses[0]));
        return verses;
    }

    /// <summary>A row as whole sentences, each a verse.</summary>
    private List<string> OfRow(IReadOnlyList<CallItem> items)
    {
        List<string> verses = [];
        List<string> open = [];
        int phrases = 0;
        foreach (CallItem item in items)
        {
            int count = PhrasesOf(item);
            if (item is CallStep)
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
            if (count <= MostPhrases)
            {
                open.Add(Phrase(item, outermost: true));
                Close();
                continue;
            }

            verses.AddRange(LongVerses(item));
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

    private List<string> LongVerses(CallItem item)
    {
        if (item is CallRepeat repeat)
        {
            List<string> body = OfRow(repeat.Items);
            string scope = body.Count switch
            {
                1 => "",
                2 => ", this verse and the next",
                _ => $", this verse and the next {NumberOf(body.Count - 1)}",
            };
            body[0] = $"{Capital(TimesOf(repeat.Times))}{scope}: {Small(body[0])}";
            return body;
        }

        CallAgain again = (CallAgain)item;
        List<string> first = OfRow(again.Items);
        int said = first.Count;
        List<string> between = again.Between.Count > 0 ? OfRow(again.Between) : [];
        string what =
            said == 1
                ? (between.Count > 0 ? "the verse before " + Count(between.Count) : "the last verse")
                : (between.Count > 0 ? $"the {NumberOf(said)} verses before {Count(between.Count)}" : $"the last {NumberOf(said)} verses");
        first.AddRange(between);
        first.Add(
            Capital(
                again.Kind switch
                {
                    AgainKind.Mirrored => $"{what} again, mirrored.",
                    AgainKind.Backwards => $"{JointOf(again)}, and {what} backwards.",
                    _ => $"{JointOf(again)}, and {what} backwards and mirrored.",
                }
            )
        );
        return first;

        static string Count(int n) => n == 1 ? "that" : $"those {NumberOf(n)}";
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
            {
                string body = Row(repeat.Items);
                return outermost || repeat.Items.Count == 1
                    ? $"{TimesOf(repeat.Times)}: {body}"
                    : $"{TimesOf(repeat.Times)} ({body})";
            }

            default:
            {
                CallAgain again = (CallAgain)item;
                bool one = again.Items.Count == 1;
                string body = one ? Row(again.Items) : $"({Row(again.Items)})";
                string between =
                    again.Between.Count == 0 ? ""
                    : again.Between.Count == 1 ? $", then {Row(again.Between)}"
                    : $", then ({Row(again.Between)})";
                string what = again.Between.Count == 0 ? "the same" : "the first again";
                return again.Kind switch
                {
                    AgainKind.Mirrored => $"{body}{between}, then {what} mirrored",
                    AgainKind.Backwards => $"{body}{between}, then {JointOf(again)} and {what} backwards",
                    _ => $"{body}{between}, then {JointOf(again)} and {what} backwards and mirrored",
                };
            }
        }
    }

    private string Row(IReadOnlyList<CallItem> items) => string.Join("; ", items.Select(i => Phrase(i)));

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

    private static string ReachOf(CallStep s) =>
        s.Bow is not null ? ""
        : s.Pieces is not { } n ? " to its end"
        : n == 1 ? " to the next point"
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

    private static string NumberOf(int n) =>
        n < Numbers.Length ? Numbers[n] : n.ToString(CultureInfo.InvariantCulture);

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    private static string Small(string text) => char.ToLowerInvariant(text[0]) + text[1..];
}
