using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>
/// What the program has to say, in the words of its screens: findings and refusals are written for the command line, whose options and
/// files nobody at a screen has seen. The facts stay the same.
/// </summary>
public static partial class ScreenWords
{
    // A finding's name is one word for programs; this is what people read.
    private static readonly Dictionary<string, string> Titles = new(StringComparer.Ordinal)
    {
        ["along-stitched-sides"] = "Runs along sides that are stitched already",
        ["arcs-impossible"] = "Your rulers make no arc here",
        ["bent-or-sagging"] = "A bent picture, or cloth that sags",
        ["best-lost"] = "What is drawn costs something",
        ["block-deeper-than-reach"] = "A block is deeper than one pass",
        ["board-too-steep"] = "The board is seen too steeply",
        ["boards-not-tilted"] = "The board was never tilted",
        ["bulky-points"] = "Bulky points",
        ["card-covers-point"] = "A card covers a point",
        ["card-curled"] = "A card is curled",
        ["card-cut-off"] = "A card is cut off",
        ["card-lifted"] = "A card lies above the cloth",
        ["card-moved"] = "A card was moved",
        ["card-moved-since"] = "A card was moved since",
        ["card-number-twice"] = "A card is there twice",
        ["card-place-doubtful"] = "A card's place is doubtful",
        ["card-of-another-size"] = "A card has another size",
        ["cards-disagree"] = "The cards disagree",
        ["cards-in-a-line"] = "The cards lie in one line",
        ["cloth-not-flat"] = "The cloth does not lie flat",
        ["copies-fitted"] = "Like blocks were fitted together",
        ["corner-outside-photo"] = "A corner lies outside the photo",
        ["corners-start-turned"] = "Pin 1 may not be the top left",
        ["edit-lost"] = "An edit has no place any more",
        ["edit-not-needed"] = "An edit is not needed any more",
        ["edit-refused"] = "An edit can't be made",
        ["end-not-last"] = "The end can't be where you wished",
        ["few-photos"] = "Few photos",
        ["fewer-choices"] = "Fewer choices than asked for",
        ["fill-not-reached"] = "A wide area stays open",
        ["focal-length-loose"] = "The lens is only roughly known",
        ["frame-not-covered"] = "The photos leave part of the frame out",
        ["hops"] = "Short ways from end to start",
        ["inches-of-the-cards"] = "The inches are the cards' own",
        ["larger-than-bed"] = "Larger than the plotter's bed",
        ["lens-bends-much"] = "The lens bends straight lines",
        ["lens-does-not-fit"] = "The lens does not fit the photo",
        ["lens-fits-badly"] = "The lens fits badly",
        ["like-patches-differ"] = "Like patches are stitched differently",
        ["lines-in-pieces"] = "The lines lie in pieces",
        ["lines-pile-up"] = "Stitching piles up",
        ["look-here"] = "Look here",
        ["low-side-flips"] = "The low side changes along a seam",
        ["low-side-unknown"] = "The low side is not known everywhere",
        ["low-sides"] = "Low sides",
        ["marks-disagree"] = "Marks disagree",
        ["marks-missing"] = "Marks are missing",
        ["more-than-one-start"] = "More than one start",
        ["much-is-doubtful"] = "Much is doubtful",
        ["no-blocks"] = "No blocks",
        ["no-board-in-photo"] = "No board in the photo",
        ["no-card-of-the-calibration"] = "No card of the calibration",
        ["no-colors"] = "No colours",
        ["no-curved-rulers"] = "Straight lines only",
        ["no-room-for-arcs"] = "No room for arcs",
        ["no-seams"] = "No seams",
        ["no-spare-point"] = "No point to check by",
        ["not-covered"] = "Part is in no photo",
        ["odd-blocks"] = "Blocks unlike the others",
        ["not-grown"] = "The map did not grow",
        ["one-card"] = "One card only",
        ["outline-sides"] = "How the outside edges are taken",
        ["outside-projector"] = "Outside the projector's picture",
        ["part-not-in-photo"] = "Part of the quilt is not in this photo",
        ["patch-too-thin"] = "A patch is too thin",
        ["patches-found-again"] = "Patches were found again",
        ["pattern-narrow"] = "The pattern leaves little room",
        ["photo-disagrees"] = "A photo disagrees with the others",
        ["photo-is-blurred"] = "The photo is blurred",
        ["photo-is-coarse"] = "The photo is coarse",
        ["photo-is-small"] = "The photo is small",
        ["photos-do-not-meet"] = "The photos do not meet",
        ["picture-blurred"] = "The picture is blurred",
        ["picture-too-coarse"] = "The picture is too coarse",
        ["point-disagrees"] = "A point disagrees",
        ["points-coincide"] = "Two points in one place",
        ["points-disagree"] = "The points disagree",
        ["print-not-measured"] = "The cards' print was not measured",
        ["print-scale-off"] = "The cards were not printed true to size",
        ["row-not-in-halves"] = "A row is not stitched in halves",
        ["rows-cross-sides"] = "Rows cross the blocks' sides",
        ["ruler-shorter-than-line"] = "A ruler is shorter than its line",
        ["inches-from-one-block"] = "Inches from one block",
        ["measures-contradict"] = "The measures contradict each other",
        ["proof-is-of-mapped-shape"] = "Proven for the shape as it was mapped",
        ["scale-from-known-block"] = "The scale is that of a block already mapped",
        ["rulers-assumed"] = "Planned with the usual set of rulers",
        ["seam-dangles"] = "A seam ends in the open",
        ["seam-left-out"] = "A seam was left out",
        ["seam-of-no-length"] = "A seam has no length",
        ["seam-split"] = "A seam was split",
        ["seam-stands-twice"] = "A seam stands twice",
        ["seams-left-open"] = "Seams pressed open are left alone",
        ["search-cut-short"] = "Not every way was tried",
        ["seen-from-one-side"] = "Seen from one side",
        ["size-does-not-fit"] = "The size does not fit the photo",
        ["start-not-first"] = "The start can't be where you wished",
        ["steps-unnumbered"] = "Some steps have no number",
        ["stitched-twice"] = "Stitched twice",
        ["stray-lines"] = "Lines beside every seam",
        ["follows-no-line"] = "A drawing that follows no line here",
        ["much-beside-the-lines"] = "Much of the drawing lies beside the lines",
        ["blocks-apart"] = "Blocks that do not touch",
        ["tape-disagrees"] = "The tape disagrees",
        ["thread-end-inside-a-seam"] = "A thread ends inside a seam",
        ["threads-meet"] = "Where the two threads meet",
        ["through-compared"] = "Straight through the points, compared",
        ["too-few-corners"] = "Too few corners",
        ["wish-costs"] = "A wish costs something",
        ["wish-costs-nothing"] = "A wish costs nothing",
        ["wish-has-no-lines"] = "A wish meets no lines",
        ["wishes-clash"] = "Two wishes clash",
    };

    // In this order: whole sentences, then options with their words, then options alone. A choice is quoted as the screens word it.
    private static readonly (Regex From, string To)[] Rules =
    [
        .. new (string From, string To)[]
        {
            (@"List your own rulers \(--rulers FILE\)", "Say which rulers you own, under Your machine and rulers,"),
            (@"List one, or say --rulers none for straight lines", "Choose one, or none yet for straight lines"),
            (@"ask for the outline \(--outline any\)", "stitch the outline too"),
            (@"its outline: --outline any", "its outline: choose to stitch it"),
            (@"Give a list: \[.*\]", "Choose your rulers again"),
            (@"The file is no JSON", "The file is damaged"),
            (@"Give --edits FILE, or an edit by hand such as --remove s7; see: mend --help", "Make an edit first"),
            (@", or (give another with )?--(port|force)( to replace it)?", ""),
            (@"; give another name, or --force", "; try again"),
            (@" with --candidate\b", ""),
            (@"or give --corners and --size", "or set the four pins and type the sides"),
            (@"say it: --edge seam, raw or cut for all four sides", "go by the edge of the quilt itself"),
            (@"or a --start ([0-9/]+ in)", "or a start $1"),
            (@"Naming (.+?) in --only", "Naming $1 among the only ones"),
            (@"leaving (.+?) out of --last", "not asking for $1 last"),
            (@"--open unknown leaves them", "say that they are pressed open: that leaves them"),
            (@", or check --chessboard: it counts inner corners", "; the inner corners are counted"),
            (@"--chessboard counts inner corners, one fewer", "inner corners are counted, one fewer"),
            (@"\s*\(--[^)]*\)", ""),
            (@"--touch \w+=x,y in photo pixels", "in the photo"),
            (@"Add --onto quilt\.json, or leave it out", "Say which quilt it is laid on"),
            (@"with --row \(", "row it is ("),
            (@"--onto\b", "the known quilt"),
            (@"--touch\b", "the touched block"),
            (@"--row\b", "the row"),
            (@"--tape (\d+):(\d+)(=[\d.]+)?", "the tape from card $1 to card $2"),
            (@"--printed [\d.x]+", "the measured print"),
            (@"--(printed|tape) \S+", "what was measured"),
            (@"--size [\d.x]+", "The sides as typed"),
            (@"\bmend --corners\b", "outline the block on the map"),
            (@"--corners(?= |$)", "the four corners "),
            (@"--corners\b", "the four corners"),
            (@"--sides\b", "the four sides"),
            (@"--diagonals\b", "the two diagonals"),
            (@"--alone\b", "the block by itself"),
            (@"The (four points|corners) of --block", "The $1 of the block"),
            (@"--block \S+", "“one block”"),
            (@"with --block\b", "by itself"),
            (@"--(dots|bed|clear) ([0-9]\S*?)(?=[.,;]?(\s|$))", "$2 in"),
            (@"--centers lets", "“lines to the middles of squares” lets"),
            (@"--lines seams\+arcs", "“in the ditch, with arcs where they help”"),
            (@"--lines seams\b", "“in the ditch, nothing added”"),
            (@"--lines curves", "“continuous curves”"),
            (@"--thread one", "“one thread, least backtrack”"),
            (@"--thread free", "“nothing stitched twice”"),
            (@"--thread mixed", "“least time”"),
            (@"--threads two", "“two threads”"),
            (@"--outline none", "“leave the outline alone”"),
            (@"--outline any", "“stitch the outline”"),
            (@"--(outline last|last outline)", "“the outline last”"),
            (@"--match colors", "matching by colour"),
            (@"--rulers none", "no curved rulers"),
            (@"--block\b", "the block"),
            (@"--rulers\b", "your rulers"),
            (@"--start\b", "where to start"),
            (@"--end\b", "where to end"),
            (@"--last\b", "what comes last"),
            (@"--skip\b", "seams left out"),
            (@"--only\b", "the only seams to stitch"),
            (@"--anchor-first\b", "“anchor first”"),
            (@"--round-last\b", "“round the block last”"),
            (@"--finish-blocks\b", "“finish each block”"),
            (@"--midpoints\b", "points at the middles of sides"),
            (@"--centers\b", "“lines to the middles of squares”"),
            (@"--through\b", "“straight through the points”"),
            (@"--fill\b", "the widest open area"),
            (@"--open\b", "seams pressed open"),
            (@"--clear\b", "keeping clear of crowded points"),
            (@"--drag\b", "dragging the thread"),
            (@"--bulky\b", "from how many seams on a point is bulky"),
            (@"--hop-cost\b", "what a hop costs"),
            (@"--start-cost\b", "what a start costs"),
            (@"--inch-cost\b", "what an inch costs"),
            (@"--hand-reach\b", "your hand's reach"),
            (@"--directions\b", "directions"),
            (@"--reach\b", "how deep a pass reaches"),
            (@"--raw-ends\b", "how far a thread runs off a raw edge"),
            (@"--clamps\b", "how far the clamps reach in"),
            (@"--bobbin\b", "line to a bobbin"),
            (@"--rows\b", "planning row by row"),
            (@"--from\b", "going on from what is drawn"),
            (@"--candidates?\b", "choices"),
            (@"--paper\b", "the paper"),
            (@"--measured\b", "the check square"),
            (@"--marked\b", "the check square"),
            (@"--dots\b", "dots"),
            (@"--each\b", "what the sheets show"),
            (@"--kind\b", "what is handed out"),
            (@"--hand\b", "the hand that holds the pencil"),
            (@"--print\b", "the size of the words"),
            (@"--step\b", "the step"),
            (@"--lan\b", "opening it to the network"),
            (@"--use\b", "what the sheets are for"),
            (@"--up\b", "how the quilt is loaded"),
            (@"--order\b", "the pen's order"),
            (@"--bed\b", "the plotter's bed"),
            (@"--fit\b", "the fit"),
            (@"--out\b", "the file"),
            (@"--size\b", "the size"),
            (@"--repeat\b", "the number of blocks"),
            (@"--sash\b", "the sashing"),
            (@"--border\b", "the border"),
            (@"--drafted\b", "the finished size"),
            (@"--lattice\b", "the setting"),
            (@"--pattern\b", "the pattern"),
            (@"--low-side\b", "how the top was pressed"),
            (@"--(chessboard|square)\b", "the chessboard"),
            (@"--pixels\b", "the projector's picture"),
            (@"say where two cards' middles lie on it: --at ""[^""]*""", "say where two cards' middles lie on it"),
            (@"--at\b", "the cards' places"),
            (@"--quilt\b", "the quilt's map"),
            (@"--projector\b", "the projector's profile"),
            (@"--points\b", "the points"),
        }.Select(r => (new Regex(r.From, RegexOptions.CultureInvariant, TimeSpan.FromSeconds(1)), r.To)),
        .. new (string From, string To)[]
        {
            (@"\bjunction", "point"),
            (@"\bretrac(e|ing)\b", "backtrack"),
            (@"\bcandidate", "choice"),
            (@"\blattice\b", "setting"),
            (@"\bdrafted\b", "finished"),
            (@"(?<=[a-z]) {2,}", " "),
        }.Select(r => (new Regex(r.From, RegexOptions.CultureInvariant, TimeSpan.FromSeconds(1)), r.To)),
    ];

    /// <summary>The names of findings that have a title of their own.</summary>
    public static IReadOnlyCollection<string> KnownFindings => Titles.Keys;

    /// <summary>A finding's title; a name that is not known is taken apart into its words.</summary>
    public static string TitleOf(Finding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        if (Titles.TryGetValue(finding.What, out string? title))
        {
            return title;
        }

        string said = finding.What.Contains(' ', StringComparison.Ordinal)
            ? Plain(finding.What)
            : finding.What.Replace('-', ' ');
        return said.Length == 0 ? said : char.ToUpperInvariant(said[0]) + said[1..];
    }

    /// <summary>Where it is and what to do about it, one or two sentences.</summary>
    public static string TextOf(Finding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        string where = Place(finding.Where, finding.Remedy);
        return Sentences(where, Plain(finding.Remedy));
    }

    /// <summary>The same with its lengths in the reader's own unit.</summary>
    public static string TextOf(Finding finding, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(words);
        return words.Tell(TextOf(finding));
    }

    /// <summary>Why something was refused and how to mend it.</summary>
    public static string Of(InputException refusal)
    {
        ArgumentNullException.ThrowIfNull(refusal);
        string where = Place(refusal.Where, refusal.Remedy);
        string what = Plain(refusal.What);
        return Sentences(where.Length == 0 ? what : $"{what} ({where})", Plain(refusal.Remedy));
    }

    /// <summary>A text without the command line's options.</summary>
    public static string Plain(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return LeftOption().Replace(Translated(text), m => "“" + m.Groups[1].Value.Replace('-', ' ') + "”");
    }

    /// <summary>A text with all known options in words; an option that is not known stays.</summary>
    internal static string Translated(string text)
    {
        foreach ((Regex from, string to) in Rules)
        {
            text = from.Replace(text, to);
        }

        return text.Trim();
    }

    // An option or a file says nothing at a screen; a folder whose rights must be mended does.
    private static string Place(string where, string remedy)
    {
        bool option = where.StartsWith("--", StringComparison.Ordinal);
        bool file =
            where.Contains('/', StringComparison.Ordinal) && Path.IsPathRooted(where)
            || where.Contains(":\\", StringComparison.Ordinal)
            || where.Contains(".json", StringComparison.OrdinalIgnoreCase);
        bool needed =
            remedy.Contains("rights", StringComparison.Ordinal)
            || remedy.Contains("space on", StringComparison.Ordinal)
            || remedy.Contains("Free space", StringComparison.Ordinal);
        bool alone = option && !where.Contains(' ', StringComparison.Ordinal);
        return alone || (file && !needed) ? "" : Plain(where);
    }

    private static string Sentences(string first, string second) =>
        string.Join(' ', new[] { first, second }.Where(s => s.Length > 0).Select(Sentence));

    private static string Sentence(string text)
    {
        string begun =
            char.IsAsciiLetterLower(text[0]) && !SeamId().IsMatch(text)
                ? char.ToUpperInvariant(text[0]) + text[1..]
                : text;
        return begun[^1] is '.' or '!' or '?' ? begun : begun + ".";
    }

    [GeneratedRegex(@"(?<![\w-])--([a-z][a-z-]*)", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex LeftOption();

    [GeneratedRegex(@"^[a-z]+\d", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex SeamId();
}
