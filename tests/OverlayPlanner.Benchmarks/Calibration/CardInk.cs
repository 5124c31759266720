using OverlayPlanner.Calibration;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Ink of a card on a lattice of sixteenths of the pattern's side, on which all of it lies.</summary>
internal sealed class CardInk
{
    private readonly List<(double X, double Y, bool[,] Cells)> patterns = [];
    private readonly double side;

    public CardInk(TargetCard card)
    {
        side = card.Side.Inches;
        foreach (TargetPattern p in card.Patterns)
        {
            bool[,] cells = new bool[16, 16];
            for (int j = 0; j < 16; j++)
            {
                for (int i = 0; i < 16; i++)
                {
                    double x = p.X + ((i + 0.5) / 16 - 0.5) * side;
                    double y = p.Y + ((j + 0.5) / 16 - 0.5) * side;
                    cells[i, j] = card.Ink.Any(b =>
                        x > b.Left && x < b.Left + b.Width && y > b.Top && y < b.Top + b.Height
                    );
                }
            }

            patterns.Add((p.X, p.Y, cells));
        }
    }

    /// <summary>Whether a drawn point of the card is inked, inches from its middle.</summary>
    public bool IsBlack(double u, double v)
    {
        foreach ((double x, double y, bool[,] cells) in patterns)
        {
            int i = (int)Math.Floor(((u - x) / side + 0.5) * 16);
            int j = (int)Math.Floor(((v - y) / side + 0.5) * 16);
            if (i >= 0 && i < 16 && j >= 0 && j < 16)
            {
                return cells[i, j];
            }
        }

        return false;
    }
}
