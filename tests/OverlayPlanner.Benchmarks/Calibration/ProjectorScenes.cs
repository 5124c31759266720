using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>One made scene with a projector over it.</summary>
/// <param name="Truth">Camera and cards.</param>
/// <param name="Projector">The true projector.</param>
/// <param name="Width">Its pixels across.</param>
/// <param name="Height">Its pixels down.</param>
/// <param name="Blur">Blur of the camera, px.</param>
/// <param name="Seed">Seed of cloth and noise.</param>
internal sealed record ProjectorScene(
    CardTruth Truth,
    MadeProjector Projector,
    int Width,
    int Height,
    double Blur,
    int Seed
)
{
    /// <summary>Where the cloth does not lie flat, or null.</summary>
    public ClothRelief? Relief { get; init; }

    /// <summary>The pixel whose light truly falls on a cloth point.</summary>
    public Point<ProjectorSpace> Apply(Point<ClothSpace> point) =>
        Projector.Apply(point, Relief?.HeightAt(point.X, point.Y) ?? 0);

    /// <summary>What the cards' solver is told: the lens's profile, and a print that was measured and is true.</summary>
    public CardWishes Wishes =>
        new() { Lens = CardLayouts.Nominal(Truth.Width, Truth.Height), Printed = PrintedSize.Parse("7x9") };

    /// <summary>All photos of the scene.</summary>
    public Photo[] PhotographAll(Picture thrown) =>
        [.. Enumerable.Range(0, Truth.Poses.Count).Select(p => Photograph(thrown, p))];

    /// <summary>A photo of the cards under what the projector is given.</summary>
    public Photo Photograph(Picture thrown, int photo = 0) =>
        CardRenderer.Render(Truth, photo, new(Blur, 2, 92), Seed, new ThrownLight(thrown, Projector), Relief);
}

/// <summary>Draws scenes with a projector: keystone from above, a lens that bends by up to some pixels, cards round the light.</summary>
internal static class ProjectorScenes
{
    /// <summary>Draws a scene.</summary>
    /// <param name="seed">Seed of everything in it.</param>
    /// <param name="layout">Where the cards lie.</param>
    /// <param name="width">Projector pixels across.</param>
    /// <param name="height">Projector pixels down.</param>
    /// <param name="photos">Photos from the camera's side.</param>
    /// <param name="photoWidth">Photo pixels across; three quarters of them down.</param>
    public static ProjectorScene Draw(
        int seed,
        CardLayout layout,
        int width = 1920,
        int height = 1080,
        int photos = 1,
        int photoWidth = 4032
    )
    {
        Random random = new(seed);
        CardTruth drawn = CardLayouts.Draw(random, layout, photos, withProfile: true, photoWidth, photoWidth * 3 / 4);
        CardTruth truth = drawn with
        {
            Print = [1, 1],
            Cards = [.. drawn.Cards.Select(c => (c.Card, new[] { c.Place[0], c.Place[1], c.Place[2], 0, 0, 0 }))],
        };

        // The light lies between the rows of cards; keystone shortens one side by up to a tenth.
        (double left, double top, double w, double h) = truth.Area;
        double margin = layout == CardLayout.OneBlock ? 0.4 : 8;
        double high = layout == CardLayout.LoadedBand ? 14 : h - 2 * margin;
        double wide = Math.Min(high * width / height, w - 2 * margin);
        high = wide * height / width;
        double cx = left + w / 2 + (random.NextDouble() - 0.5);
        double cy = top + h / 2 + (random.NextDouble() - 0.5);
        double keystone = 0.02 + 0.06 * random.NextDouble();
        double J() => (random.NextDouble() - 0.5) * 0.01 * wide;
        Point<ClothSpace>[] on =
        [
            new(cx - wide / 2 + J(), cy - high / 2 + J()),
            new(cx + wide / 2 + J(), cy - high / 2 + J()),
            new(cx + wide / 2 * (1 - keystone) + J(), cy + high / 2 + J()),
            new(cx - wide / 2 * (1 - keystone) + J(), cy + high / 2 + J()),
        ];
        Point<ProjectorSpace>[] pixels = [new(0, 0), new(width - 1, 0), new(width - 1, height - 1), new(0, height - 1)];
        Homography<ProjectorSpace, ClothSpace> map = HomographyFit.Fit<ProjectorSpace, ClothSpace>([
            .. on.Zip(pixels),
        ])!;
        double radial = (random.NextDouble() - 0.5) * 0.012;
        return new(
            truth,
            new(
                map,
                new(width * 0.5, height * (0.5 + 0.4 * random.NextDouble())),
                radial,
                (cx, cy - wide / 2, 1.4 * wide)
            ),
            width,
            height,
            0.6 + 0.8 * random.NextDouble(),
            seed
        );
    }

    /// <summary>The same scene with the projector far to one side: its picture is a third shorter on one edge than on the other.</summary>
    public static ProjectorScene Steep(ProjectorScene scene)
    {
        (double left, double top, double w, double h) = scene.Truth.Area;
        return scene with
        {
            Projector = MadeProjector.Aimed(
                (left + w / 2 + 1.2 * w, top - 0.8 * h, 3 * w),
                (left + 0.4, top + 0.4, w - 0.8, h - 0.8),
                scene.Width,
                scene.Height,
                scene.Projector.Radial
            ),
        };
    }

    /// <summary>The same scene on cloth that sags and puffs.</summary>
    public static ProjectorScene Uneven(ProjectorScene scene, double sagInches, double puffInches) =>
        scene with
        {
            Relief = new(scene.Truth.Area, sagInches, puffInches, 2.7),
        };

    /// <summary>The same scene with one more photo: the last one's camera carried round to the other side of the frame.</summary>
    public static ProjectorScene WithOtherSide(ProjectorScene scene)
    {
        (double left, double top, double w, double h) = scene.Truth.Area;
        double[] pose = scene.Truth.Poses[^1];
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);

        // Half a turn about the upright line through the area's middle.
        double[] turned = [-r[0], -r[1], r[2], -r[3], -r[4], r[5], -r[6], -r[7], r[8]];
        double[] vector = CameraModel.RotationVector(turned);
        double Shift(int row) => r[3 * row] * (2 * left + w) + r[3 * row + 1] * (2 * top + h) + pose[3 + row];
        double[] other = [vector[0], vector[1], vector[2], Shift(0), Shift(1), Shift(2)];
        return scene with { Truth = scene.Truth with { Poses = [.. scene.Truth.Poses, other] } };
    }

    /// <summary>The shift and turn that lay a profile's cards on the true ones.</summary>
    public static Similarity<ClothSpace, ClothSpace> TruthFromProfile(ProjectorScene scene, ProjectorProfile profile) =>
        ThrownView.Lay([
            .. profile.Cards.Select(c =>
            {
                double[] place = scene.Truth.Cards.First(t => t.Card.Number == c.Number).Place;
                return (c.At, new Point<ClothSpace>(place[CardModel.X], place[CardModel.Y]));
            }),
        ]);
}
