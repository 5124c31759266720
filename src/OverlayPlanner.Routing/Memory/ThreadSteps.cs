using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>How far a step is said to run.</summary>
internal enum ReachWords
{
    /// <summary>To the line's end where it runs there, else so many pieces.</summary>
    ToTheEnd,

    /// <summary>Always so many pieces.</summary>
    Pieces,
}

/// <summary>The steps of one thread as numbers that compare.</summary>
/// <remarks>
/// <para>
/// Step i reads as <see cref="Forward"/>[i]. Travelled backwards it reads as <see cref="Backward"/>[i], the turn being the one
/// from step i + 1 into it; so a part said backwards needs the turn into its last step said anew, and no other. Backwards each
/// step takes as many pieces as it took, whatever was said of the line's end, hence <see cref="Counted"/>.
/// </para>
/// <para>The same rules as <see cref="StitchStep"/>.</para>
/// </remarks>
internal sealed class ThreadSteps
{
    private readonly CallLines lines;
    private readonly (int First, int Last, int Moves, bool Again, bool Across)[] steps;

    private ThreadSteps(CallLines lines, (int, int, int, bool, bool)[] steps, int count)
    {
        this.lines = lines;
        this.steps = steps;
        Count = count;
        Forward = new int[count];
        Backward = new int[count];
        Counted = new int[count];
    }

    /// <summary>Number of steps.</summary>
    public int Count { get; }

    /// <summary>Each step with its turn.</summary>
    public int[] Forward { get; }

    /// <summary>Each step as it reads travelled backwards, with the turn from the next; the last one's turn is 0.</summary>
    public int[] Backward { get; }

    /// <summary>Each step with its turn, by its number of pieces.</summary>
    public int[] Counted { get; }

    /// <summary>Half-edge that step i leaves by.</summary>
    public int FirstOf(int i) => steps[i].First;

    /// <summary>Half-edge of step i's last piece, at the piece's beginning.</summary>
    public int LastOf(int i) => steps[i].Last;

    /// <summary>Pieces of step i.</summary>
    public int MovesOf(int i) => steps[i].Moves;

    /// <summary>True where step i goes along lines already stitched.</summary>
    public bool IsAgain(int i) => steps[i].Again;

    /// <summary>True where step i runs straight on, the ruler changing its side.</summary>
    public bool StepsAcross(int i) => steps[i].Across;

    /// <summary>Reads one thread.</summary>
    /// <param name="lines">All lines.</param>
    /// <param name="halfEdges">The thread's half-edges in order, each at the beginning of its piece.</param>
    /// <param name="stitched">Which lines are stitched so far; brought up to date.</param>
    public static ThreadSteps Read(CallLines lines, IReadOnlyList<int> halfEdges, bool[] stitched)
    {
        (int First, int Last, int Moves, bool Again, bool Across)[] found = new (int, int, int, bool, bool)[
            halfEdges.Count
        ];
        int count = 0;
        Side? side = null;
        for (int i = 0; i < halfEdges.Count; i++)
        {
            int h = halfEdges[i];
            bool again = stitched[h >> 1];
            stitched[h >> 1] = true;
            Side? low = lines.LowOf(h);
            bool across = false;
            if (
                count > 0
                && found[count - 1].Again == again
                && lines.RunsOn(found[count - 1].First, found[count - 1].Last, h)
            )
            {
                if (side is null || low is null || side == low)
                {
                    found[count - 1].Last = h;
                    found[count - 1].Moves++;
                    side ??= low;
                    continue;
                }

                across = true;
            }

            found[count++] = (h, h, 1, again, across);
            side = low;
        }

        return new(lines, found, count);
    }

    /// <summary>Names the steps.</summary>
    /// <param name="reach">How far is said.</param>
    /// <param name="firstTurn">The turn into the first step.</param>
    public void Name(ReachWords reach, int firstTurn)
    {
        for (int i = 0; i < Count; i++)
        {
            (int first, int last, int moves, _, bool across) = steps[i];
            int turn = i == 0 ? firstTurn : lines.TurnOf(steps[i - 1].Last ^ 1, first);
            turn |= across ? CallCode.Across : 0;
            Counted[i] = turn | LineCode(first, moves);
            bool toEnd = reach == ReachWords.ToTheEnd && lines.Along(first).IsLine && lines.ChainOf(first) == moves;
            Forward[i] = toEnd ? turn | LineCode(first, 0) : Counted[i];
            int back = i + 1 < Count ? lines.TurnOf(steps[i + 1].First, last ^ 1) : 0;
            bool backAcross = i + 1 < Count && steps[i + 1].Across;
            Backward[i] = back | (backAcross ? CallCode.Across : 0) | LineCode(last ^ 1, moves);
        }
    }

    /// <summary>True where fewer kinds of step differ when all are told by pieces than as they are named now.</summary>
    public bool IsPlainerCounted() => Forward.Distinct().Count() > Counted.Distinct().Count();

    /// <summary>For a closed thread: the last step, travelled backwards, follows the first.</summary>
    public void CloseBackward()
    {
        if (Count > 0)
        {
            int line = Backward[^1] & ~CallCode.TurnBits;
            Backward[^1] = line | lines.TurnOf(steps[0].First, steps[Count - 1].Last ^ 1);
        }
    }

    private int LineCode(int h, int pieces) => CallCode.OfLine(lines.KindOf(h), lines.BowOf(h), pieces);
}
