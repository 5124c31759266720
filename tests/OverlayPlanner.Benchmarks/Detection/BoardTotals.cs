using System.Diagnostics;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>Points, seam pieces and patches together.</summary>
internal readonly record struct Tallies(Tally Points, Tally Seams, Tally Patches)
{
    public static Tallies Of(MapScore score) => new(score.Points, score.Seams, score.Patches);

    public static Tallies operator +(Tallies a, Tallies b) =>
        new(a.Points + b.Points, a.Seams + b.Seams, a.Patches + b.Patches);
}

/// <summary>What the finder and its peers did on a list of scenes.</summary>
internal sealed class BoardTotals
{
    /// <summary>Photographs at which the precision is measured have about 40 pixels to the inch.</summary>
    private const double PrecisionLow = 36;
    private const double PrecisionHigh = 46;

    public int Scenes { get; private set; }

    public Tallies Found { get; private set; }

    public Tallies Segments { get; private set; }

    public Tallies Hough { get; private set; }

    public Tallies Colors { get; private set; }

    /// <summary>Distances of matched points in photographs of about 40 px/in, in.</summary>
    public List<double> Errors { get; } = [];

    public ConfidenceScore Confidence { get; } = new();

    /// <summary>Edits of each scene, with its number of blocks.</summary>
    public List<(HandEdits Edits, int Blocks)> Edits { get; } = [];

    /// <summary>Each scene's lattice, and whether it stands on point.</summary>
    public List<(LatticeScore Score, bool OnPoint)> Lattices { get; } = [];

    /// <summary>What one block put right does for the others.</summary>
    public List<TaughtBlock> Taught { get; } = [];

    /// <summary>Makes each scene, finds its map, and compares.</summary>
    public static BoardTotals Run(
        SeamFinder finder,
        IEnumerable<SceneWishes> wishes,
        double tolerance,
        Peers peers = Peers.Run,
        Teaching teaching = Teaching.LeftOut
    )
    {
        BoardTotals totals = new();
        foreach (SceneWishes w in wishes)
        {
            SceneRun run = SceneRun.Prepare(w);
            QuiltMap truth = run.Scene.Truth;
            Stopwatch clock = Stopwatch.StartNew();
            QuiltMap found = finder.Find(run.Picture, run.Wishes).Map;
            double seconds = clock.Elapsed.TotalSeconds;
            MapScore score = MapScore.Compare(found, truth, tolerance);
            totals.Scenes++;
            totals.Found += Tallies.Of(score);
            if (run.Density is > PrecisionLow and < PrecisionHigh)
            {
                totals.Errors.AddRange(score.PointErrors);
            }

            HandEdits edits = HandEdits.Between(found, truth, tolerance);
            totals.Edits.Add((edits, truth.Blocks.Count));
            totals.Confidence.Add(found, truth, tolerance);
            LatticeScore lattice = LatticeScore.Compare(found, truth);
            totals.Lattices.Add((lattice, IsOnPoint(truth)));
            Console.Error.WriteLine(
                FormattableString.Invariant(
                    $"   {w.Name}: {run.Density:0} px/in, points {score.Points.F1:0.000}, seams {score.Seams.F1:0.000}, patches {score.Patches.F1:0.000}, edits {edits.Missed} + {edits.False} + {edits.Moved}, lattice {(lattice.Exact ? "exact" : "not exact")}, name {lattice.Named}, {seconds:0.0} s"
                )
            );
            if (teaching == Teaching.OneBlock)
            {
                totals.Taught.Add(TaughtBlock.Teach(finder, run, found, tolerance));
            }

            if (peers == Peers.Run)
            {
                totals.AddPeers(run, tolerance);
            }
        }

        return totals;
    }

    private void AddPeers(SceneRun run, double tolerance)
    {
        (Picture picture, Length w, Length h) = (run.Picture, run.Wishes.Width, run.Wishes.Height);
        const double Margin = SceneRun.MarginInches;
        QuiltMap truth = run.Scene.Truth;
        QuiltMap[] maps = new QuiltMap[3];
        Parallel.Invoke(
            () => maps[0] = PeerLines.LineSegmentDetector(picture, w, h, Margin, PeerLines.TunedSegments),
            () => maps[1] = PeerLines.Hough(picture, w, h, Margin, PeerLines.TunedHough),
            () => maps[2] = PeerColors.Segment(picture, w, h, Margin, PeerColors.Tuned)
        );
        Segments += Tallies.Of(MapScore.Compare(maps[0], truth, tolerance));
        Hough += Tallies.Of(MapScore.Compare(maps[1], truth, tolerance));
        Colors += Tallies.Of(MapScore.Compare(maps[2], truth, tolerance));
    }

    private static bool IsOnPoint(QuiltMap map)
    {
        Vector<ClothSpace> side = map.Blocks[0].Corners[1] - map.Blocks[0].Corners[0];
        return Math.Min(Math.Abs(side.X), Math.Abs(side.Y)) > 0.3 * side.Norm;
    }
}

/// <summary>Whether the peers run on the same scenes.</summary>
internal enum Peers
{
    /// <summary>They do.</summary>
    Run,

    /// <summary>They do not.</summary>
    LeftOut,
}
