using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Benchmarks;

/// <summary>How long one correction by hand takes on a large top.</summary>
internal static class MendingSpeed
{
    private const double TargetMilliseconds = 50;
    private const int Rounds = 40;

    /// <summary>One row for each kind of edit that changes seams: the median and the longest of 40.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run()
    {
        QuiltMap top = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 12, 12, Length.Zero);
        Random random = new(8);
        (string Kind, Func<QuiltMap, MapEdit> Draw)[] kinds =
        [
            (
                "add",
                m =>
                {
                    Point<ClothSpace> p = Inner(m).Place;
                    return new AddSeam(p, p + new Vector<ClothSpace>(2 + random.NextDouble(), 3 * random.NextDouble()));
                }
            ),
            ("move", m => Moved(Inner(m))),
            ("remove", m => new RemoveSeam(new(Seam(m).Id))),
            ("arc", m => new BendSeam(new(Seam(m).Id), 0.15)),
            ("ditch", m => new SayDitch(new(Seam(m).Id), LowSide.Left)),
        ];
        foreach ((_, Func<QuiltMap, MapEdit> draw) in kinds)
        {
            // The first runs are the compiler's.
            Measure(top, draw);
        }

        foreach ((string kind, Func<QuiltMap, MapEdit> draw) in kinds)
        {
            List<double> times = Measure(top, draw);
            times.Sort();
            double median = times[times.Count / 2];
            yield return (
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"one edit on a top of {top.Seams.Count} seams: {kind}, median (longest)"
                ),
                string.Create(CultureInfo.InvariantCulture, $"{median:0.0} ({times[^1]:0.0}) ms"),
                "≤ 50 ms",
                median <= TargetMilliseconds
            );
        }

        Junction Inner(QuiltMap m)
        {
            Junction j;
            do
            {
                j = m.Junctions[random.Next(m.Junctions.Count)];
            } while (
                j.Place.X < 1 || j.Place.Y < 1 || j.Place.X > m.Width.Inches - 4 || j.Place.Y > m.Height.Inches - 4
            );

            return j;
        }

        Seam Seam(QuiltMap m)
        {
            Seam s;
            do
            {
                s = m.Seams[random.Next(m.Seams.Count)];
            } while (s.Role == SeamRole.Edge);

            return s;
        }
    }

    private static List<double> Measure(QuiltMap map, Func<QuiltMap, MapEdit> draw)
    {
        List<double> times = [];
        for (int i = 0; times.Count < Rounds && i < 10 * Rounds; i++)
        {
            MapEdit edit = draw(map);
            Stopwatch clock = Stopwatch.StartNew();
            try
            {
                map = Mender.Apply(map, edit).Map;
                times.Add(clock.Elapsed.TotalMilliseconds);
            }
            catch (InputException)
            {
                // Such a one is not possible here: another is drawn.
            }
        }

        return times;
    }

    private static MovePoint Moved(Junction j) => new(new(j.Id), j.Place + new Vector<ClothSpace>(0.3, 0.2));
}
