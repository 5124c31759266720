using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>Steps and turns packed into one number each, so that equal ones compare fast.</summary>
/// <remarks>
/// From the lowest bit: turn size 3, turn side 2, pick 5, steps across 1, kind of line 2, bow 2, pieces 16 (0: to the end).
/// A side is 0 none, 1 left, 2 right.
/// </remarks>
internal static class CallCode
{
    private const int SideAt = 3;
    private const int PickAt = 5;
    private const int AcrossAt = 10;
    private const int LineAt = 11;
    private const int BowAt = 13;
    private const int PiecesAt = 15;
    private const int MostPick = 31;
    private const int MostPieces = 65_535;

    /// <summary>The part of a step's code that is its turn, stepping across included.</summary>
    public const int TurnBits = (1 << LineAt) - 1;

    public static int OfTurn(TurnSize size, Side? side, int pick) =>
        (int)size | (Of(side) << SideAt) | (Math.Min(pick, MostPick) << PickAt);

    /// <summary>A step without its turn; 0 pieces run to the line's end.</summary>
    public static int OfLine(CallLine line, Side? bow, int pieces) =>
        ((int)line << LineAt) | (Of(bow) << BowAt) | (Math.Min(pieces, MostPieces) << PiecesAt);

    public static int Across => 1 << AcrossAt;

    /// <summary>The size of the turn.</summary>
    public static TurnSize SizeOf(int code) => (TurnSize)(code & 7);

    /// <summary>Left and right exchanged.</summary>
    public static int Mirrored(int code) => Exchanged(Exchanged(code, SideAt), BowAt);

    public static CallTurn TurnOf(int code) =>
        new((TurnSize)(code & 7), SideAtBits(code, SideAt), (code >> PickAt) & MostPick);

    public static bool StepsAcross(int code) => (code & Across) != 0;

    public static CallStep StepOf(int code)
    {
        int pieces = (code >> PiecesAt) & MostPieces;
        return new(
            TurnOf(code),
            (CallLine)((code >> LineAt) & 3),
            SideAtBits(code, BowAt),
            pieces == 0 ? null : pieces,
            StepsAcross(code)
        );
    }

    private static int Of(Side? side) =>
        side switch
        {
            Side.Left => 1,
            Side.Right => 2,
            _ => 0,
        };

    private static Side? SideAtBits(int code, int at) =>
        ((code >> at) & 3) switch
        {
            1 => Side.Left,
            2 => Side.Right,
            _ => null,
        };

    private static int Exchanged(int code, int at)
    {
        int side = (code >> at) & 3;
        return side is 1 or 2 ? code ^ (3 << at) : code;
    }
}
