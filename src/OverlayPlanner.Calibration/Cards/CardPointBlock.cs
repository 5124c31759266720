namespace OverlayPlanner.Calibration;

/// <summary>Numbers of a card on the cloth.</summary>
/// <remarks>
/// x, y: its middle, cloth inches; turn: radians, from the cloth's x to its y; lift: inches toward the camera; two slopes: how
/// fast its right and its lower end sink into the cloth. A printer has two numbers: printed inches for each drawn inch, across
/// and down the page.
/// </remarks>
internal static class CardModel
{
    public const int Size = 6;
    public const int X = 0;
    public const int Y = 1;
    public const int Turn = 2;
    public const int Lift = 3;
    public const int SlopeRight = 4;
    public const int SlopeDown = 5;
    public const int PrintSize = 2;

    /// <summary>Where a point of a card lies, cloth inches and depth, with derivatives by card (3 × 6) and print (3 × 2).</summary>
    public static void Place(
        ReadOnlySpan<double> card,
        ReadOnlySpan<double> print,
        bool turned,
        double u,
        double v,
        Span<double> point,
        Span<double> byCard,
        Span<double> byPrint
    )
    {
        int across = turned ? 1 : 0;
        double pu = u * print[across];
        double pv = v * print[1 - across];
        double c = Math.Cos(card[Turn]);
        double s = Math.Sin(card[Turn]);
        point[0] = card[X] + c * pu - s * pv;
        point[1] = card[Y] + s * pu + c * pv;
        point[2] = -card[Lift] + card[SlopeRight] * pu + card[SlopeDown] * pv;
        if (byCard.IsEmpty)
        {
            return;
        }

        byCard.Clear();
        byCard[X] = 1;
        byCard[Size + Y] = 1;
        byCard[Turn] = -s * pu - c * pv;
        byCard[Size + Turn] = c * pu - s * pv;
        byCard[2 * Size + Lift] = -1;
        byCard[2 * Size + SlopeRight] = pu;
        byCard[2 * Size + SlopeDown] = pv;
        byPrint[across] = u * c;
        byPrint[PrintSize + across] = u * s;
        byPrint[2 * PrintSize + across] = u * card[SlopeRight];
        byPrint[1 - across] = -v * s;
        byPrint[PrintSize + 1 - across] = v * c;
        byPrint[2 * PrintSize + 1 - across] = v * card[SlopeDown];
    }
}

/// <summary>One corner of a card, seen in one photo. Groups: camera, pose, card, print.</summary>
internal sealed class CardPointBlock(
    int camera,
    int pose,
    int card,
    int print,
    bool turned,
    double onU,
    double onV,
    double seenX,
    double seenY
) : ResidualBlock(2, camera, pose, card, print)
{
    private const int Width = CameraModel.Size + CameraModel.PoseSize + CardModel.Size + CardModel.PrintSize;

    /// <summary>Standard deviation of a corner, px, one axis.</summary>
    public double Sigma { get; set; } = 0.1;

    /// <summary>The card's group.</summary>
    public int Card => card;

    /// <summary>The photo's group.</summary>
    public int Pose => pose;

    /// <inheritdoc/>
    public override bool Evaluate(ReadOnlySpan<double> x, Span<double> r, Span<double> j)
    {
        const int PoseAt = CameraModel.Size;
        const int CardAt = PoseAt + CameraModel.PoseSize;
        const int PrintAt = CardAt + CardModel.Size;
        bool wanted = !j.IsEmpty;
        Span<double> point = stackalloc double[3];
        Span<double> byCard = stackalloc double[3 * CardModel.Size];
        Span<double> byPrint = stackalloc double[3 * CardModel.PrintSize];
        CardModel.Place(
            x.Slice(CardAt, CardModel.Size),
            x.Slice(PrintAt, CardModel.PrintSize),
            turned,
            onU,
            onV,
            point,
            wanted ? byCard : [],
            byPrint
        );
        Span<double> byCamera = stackalloc double[2 * CameraModel.Size];
        Span<double> byPose = stackalloc double[2 * CameraModel.PoseSize];
        Span<double> byWorld = stackalloc double[6];
        bool seen = CameraModel.ProjectPosed(
            x[..CameraModel.Size],
            x.Slice(PoseAt, CameraModel.PoseSize),
            point,
            out double u,
            out double v,
            wanted ? byCamera : [],
            wanted ? byPose : [],
            wanted ? byWorld : []
        );
        if (!seen)
        {
            return false;
        }

        r[0] = (u - seenX) / Sigma;
        r[1] = (v - seenY) / Sigma;
        for (int i = 0; wanted && i < 2; i++)
        {
            Span<double> row = j.Slice(i * Width, Width);
            for (int k = 0; k < CameraModel.Size; k++)
            {
                row[k] = byCamera[i * CameraModel.Size + k] / Sigma;
            }

            for (int k = 0; k < CameraModel.PoseSize; k++)
            {
                row[PoseAt + k] = byPose[i * CameraModel.PoseSize + k] / Sigma;
            }

            for (int a = 0; a < 3; a++)
            {
                double w = byWorld[3 * i + a] / Sigma;
                for (int k = 0; k < CardModel.Size; k++)
                {
                    row[CardAt + k] += w * byCard[a * CardModel.Size + k];
                }

                for (int k = 0; k < CardModel.PrintSize; k++)
                {
                    row[PrintAt + k] += w * byPrint[a * CardModel.PrintSize + k];
                }
            }
        }

        return true;
    }
}

/// <summary>A tape laid from the middle of one card to the middle of another.</summary>
internal sealed class TapeBlock(int one, int other, double inches, double sigma) : ResidualBlock(1, one, other)
{
    /// <inheritdoc/>
    public override bool Evaluate(ReadOnlySpan<double> x, Span<double> r, Span<double> j)
    {
        double dx = x[CardModel.Size + CardModel.X] - x[CardModel.X];
        double dy = x[CardModel.Size + CardModel.Y] - x[CardModel.Y];
        double distance = Math.Sqrt(dx * dx + dy * dy);
        r[0] = (distance - inches) / sigma;
        if (!j.IsEmpty && distance > 0)
        {
            j[CardModel.X] = -dx / distance / sigma;
            j[CardModel.Y] = -dy / distance / sigma;
            j[CardModel.Size + CardModel.X] = dx / distance / sigma;
            j[CardModel.Size + CardModel.Y] = dy / distance / sigma;
        }

        return true;
    }
}
