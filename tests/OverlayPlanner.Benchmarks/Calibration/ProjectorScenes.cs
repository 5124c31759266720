using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>A made projector: cloth to pixels by a homography, then one radial term of its lens.</summary>
/// <param name="Map">The pinhole's part.</param>
/// <param name="Center">The lens's axis, projector px; below the picture where the lens is shifted.</param>
/// <param name="Radial">Share by which a point 1,000 px from the axis is moved outwards.</param>
internal sealed record MadeProjector(
    Homography<ProjectorSpace, ClothSpace> Map,
    Point<ProjectorSpace> Center,
    double Radial
) : IMap<ProjectorSpace, ClothSpace>
{
    /// <inheritdoc/>
    public Point<ProjectorSpace> Apply(Point<ClothSpace> point)
    {
        Vector<ProjectorSpace> v = Map.Apply(point) - Center;
        return Center + v * (1 + Radial * v.Dot(v) / 1e6);
    }
}

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
    /// <summary>What the cards' solver is told: the lens's profile, and a print that was measured and is true.</summary>
    public CardWishes Wishes =>
        new() { Lens = CardLayouts.Nominal(Truth.Width, Truth.Height), Printed = PrintedSize.Parse("7x9") };

    /// <summary>A photo of the cards under what the projector is given.</summary>
    public Photo Photograph(Picture thrown, int photo = 0) =>
        CardRenderer.Render(Truth, photo, new(Blur, 2, 92), Seed, new ThrownLight(thrown, Projector));
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
        CardTruth drawn = CardLayouts.Draw(
            random,
            layout,
            photos,
            withProfile: true,
            photoWidth,
            photoWidth * 3 / 4
        );
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
        Point<ProjectorSpace>[] pixels =
        [
            new(0, 0),
            new(width - 1, 0),
            new(width - 1, height - 1),
            new(0, height - 1),
        ];
        Homography<ProjectorSpace, ClothSpace> map = HomographyFit.Fit<ProjectorSpace, ClothSpace>([.. on.Zip(pixels)])!;
        double radial = (random.NextDouble() - 0.5) * 0.012;
        return new(
            truth,
            new(map, new(width * 0.5, height * (0.5 + 0.4 * random.NextDouble())), radial),
            width,
            height,
            0.6 + 0.8 * random.NextDouble(),
            seed
        );
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
