namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>The lines of sight of a photo's rows: one for all where the camera rests, several for each row where it moves.</summary>
internal sealed class Moments
{
    private const int WhileOpen = 5;

    private readonly SightLines[][] rows;

    public Moments(CardScene scene, int photo)
    {
        double[] pose = scene.Truth.Poses[photo];
        int height = scene.Truth.Height;
        if (scene.Shake is not { } shake)
        {
            Each = 1;
            rows =
            [
                [new(pose)],
            ];
            return;
        }

        Each = WhileOpen;
        rows =
        [
            .. Enumerable
                .Range(0, height)
                .Select(y =>
                    Enumerable
                        .Range(0, WhileOpen)
                        .Select(k => new SightLines(
                            shake.PoseAt(
                                pose,
                                shake.TimeOf(y, height) + ((k + 0.5) / WhileOpen - 0.5) * shake.OpenSeconds
                            )
                        ))
                        .ToArray()
                ),
        ];
    }

    /// <summary>Moments of each row.</summary>
    public int Each { get; }

    /// <summary>The lines of sight of a row at one of its moments.</summary>
    public SightLines Of(int row, int moment) => rows[Each == 1 ? 0 : row][moment];
}
