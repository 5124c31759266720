using System.Globalization;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>
/// Rows from the photograph on: a made picture of turned, sashed and many blocks goes through the program's own <c>map</c> and
/// <c>route --rows</c>, and the route that comes out is followed move by move.
/// </summary>
internal static class PhotographedRows
{
    // Middles of lines lie on whole twenty-fourths of a block's side in the drafts used; found, nearly there.
    private const double Fold = 24;
    private static readonly Length Side = Length.FromInches(12);

    /// <summary>Maps, plans and follows each picture.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        int pictures = 0;
        int whole = 0;
        int blocks = 0;
        int alike = 0;
        int rows = 0;
        int threads = 0;
        List<string> amiss = [];
        string folder = Directory.CreateTempSubdirectory("overlayplanner-rows-").FullName;
        foreach (SceneWishes w in quick ? Pictures().Take(1) : Pictures())
        {
            (QuiltMap map, Route route, MadeScene scene) = Plan(w, folder);
            pictures++;
            string? fault = FaultOf(map, route.Candidates[0]);
            whole += fault is null ? 1 : 0;
            if (fault is not null)
            {
                amiss.Add($"{w.Name}: {fault}");
            }

            (int same, int all) = Alike(map, route.Candidates[0], scene.Truth);
            blocks += all;
            alike += same;
            Run[] ofRows = [.. route.Candidates[0].Runs.Where(r => r.Unknown.Values.ContainsKey("row"))];
            rows += w.Draft!.Blocks.Where(b => b.Row is not null).Select(b => b.Row).Distinct().Count();
            threads += ofRows.Length;
        }

        Directory.Delete(folder, recursive: true);
        yield return (
            Text(
                $"rows on the maps of {pictures} made photographs (turned, sashed, 4 x 3): no seam missed, none but by backtracking again, no gap"
            ),
            Text($"{whole} of {pictures}{(amiss.Count > 0 ? "; " + string.Join("; ", amiss) : "")}"),
            "all",
            whole == pictures
        );
        yield return (
            "the same, one thread with backtracking: blocks that lie alike stitched in the same order, out and home",
            Text($"{alike} of {blocks}"),
            "all",
            alike == blocks
        );
        yield return (
            "the same: threads for the rows",
            Text($"{threads} for {rows} rows"),
            "one for each at most",
            threads <= rows
        );
    }

    private static IEnumerable<SceneWishes> Pictures()
    {
        yield return Picture(
            "leaves turned",
            new()
            {
                Block = Side,
                Columns = 4,
                Rows = 2,
                PlaceAt = (r, c) => new(BlockLibrary.Find("maple-leaf"), (r + c) & 1),
            }
        );
        yield return Picture(
            "stars in sashing",
            new()
            {
                Block = Side,
                Columns = 3,
                Rows = 2,
                Sash = Length.FromInches(2),
                PlaceAt = (_, _) => new(BlockLibrary.Find("sawtooth-star")),
            }
        );
        yield return Picture(
            "4 x 3 stars",
            new()
            {
                Block = Side,
                Columns = 4,
                Rows = 3,
                PlaceAt = (_, _) => new(BlockLibrary.Find("sawtooth-star")),
            }
        );
        yield return Picture(
            "hawks mirrored",
            new()
            {
                Block = Side,
                Columns = 4,
                Rows = 2,
                PlaceAt = (_, c) => new(BlockLibrary.Find("hovering-hawks"), 0, (c & 1) == 1),
            }
        );
    }

    private static SceneWishes Picture(string name, SettingWishes setting) =>
        new()
        {
            Name = name,
            Seed = 411 + name.Length,
            Draft = SettingDraft.Draft(setting),
            Fabrics = FabricMix.Solids,
        };

    private static (QuiltMap Map, Route Route, MadeScene Scene) Plan(SceneWishes wishes, string folder)
    {
        MadeScene scene = SceneMaker.Make(wishes);
        string photo = Path.Combine(folder, "photo.jpg");
        string quilt = Path.Combine(folder, "quilt.json");
        string output = Path.Combine(folder, "route.json");
        File.WriteAllBytes(photo, scene.Jpeg);
        ChildProgram.Measure([
            "map",
            photo,
            "--corners",
            string.Join(' ', scene.Corners.Select(c => Text($"{c.X:0.00},{c.Y:0.00}"))),
            "--size",
            Text($"{scene.Truth.Width.Inches}x{scene.Truth.Height.Inches}"),
            "--out",
            quilt,
            "--force",
        ]);
        ChildProgram.Measure([
            "route",
            quilt,
            "--rows",
            "--thread",
            "one",
            "--outline",
            "any",
            "--out",
            output,
            "--force",
        ]);
        QuiltMap map = QuiltMapFile.Read(File.ReadAllBytes(quilt), quilt);
        return (map, RouteFile.Read(File.ReadAllBytes(output), output), scene);
    }

    // Follows every thread with the finger: what the file says of itself is not looked at.
    private static string? FaultOf(QuiltMap map, RouteCandidate c)
    {
        Dictionary<string, int> times = [];
        HashSet<Point<ClothSpace>> places = [.. map.Junctions.Select(j => j.Place)];
        foreach (Run run in c.Runs)
        {
            for (int i = 0; i < run.Moves.Count; i++)
            {
                Move m = run.Moves[i];
                if (i > 0 && run.Moves[i - 1].Path.To.DistanceTo(m.Path.From) > 1e-6)
                {
                    return Text($"a gap before move {i + 1} at {m.Path.From.X:0.0},{m.Path.From.Y:0.0}");
                }

                if (m.Seam is { } id && m.Kind != MoveKind.Retrace)
                {
                    times[id] = times.GetValueOrDefault(id) + 1;
                }
            }
        }

        string[] missed =
        [
            .. map.Seams.Where(s => s.Role != SeamRole.Edge && !times.ContainsKey(s.Id)).Select(s => s.Id),
        ];
        string[] again = [.. times.Where(t => t.Value > 1).Select(t => t.Key)];
        return missed.Length > 0 ? Text($"{missed.Length} seams missed, {missed[0]}")
            : again.Length > 0 ? Text($"{again.Length} seams again, {again[0]}")
            : null;
    }

    // For each block the order of its lines in the row's thread, as places within it; blocks that truly lie alike must agree.
    private static (int Same, int All) Alike(QuiltMap map, RouteCandidate c, QuiltMap truth)
    {
        Dictionary<(int, bool, string?), List<string>> orders = [];
        foreach (Block b in map.Blocks.Where(b => b.Row is not null))
        {
            Point<ClothSpace> middle = Middle(b);
            Block real = truth.Blocks.MinBy(t => Middle(t).DistanceTo(middle))!;
            double side = b.Corners[0].DistanceTo(b.Corners[1]);
            List<string> order = [];
            foreach (Move m in c.Runs.Where(r => r.Unknown.Values.ContainsKey("row")).SelectMany(r => r.Moves))
            {
                if (m.Block == b.Id && m.Kind != MoveKind.Retrace)
                {
                    Vector<ClothSpace> at = m.Path.From.Toward(m.Path.To, 0.5) - b.Corners[0];
                    order.Add(
                        Text(
                            $"{(int)Math.Round(Fold * at.X / side)},{(int)Math.Round(Fold * at.Y / side)}{Math.Sign(m.Path.Bulge)}"
                        )
                    );
                }
            }

            (int, bool, string?) key = (real.Turn, real.Mirror, real.Pattern);
            if (!orders.TryGetValue(key, out List<string>? known))
            {
                orders[key] = known = [];
            }

            known.Add(string.Join(' ', order));
        }

        return (orders.Values.Sum(o => o.GroupBy(x => x).Max(g => g.Count())), orders.Values.Sum(o => o.Count));
    }

    private static Point<ClothSpace> Middle(Block b) => new(b.Corners.Average(p => p.X), b.Corners.Average(p => p.Y));

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
