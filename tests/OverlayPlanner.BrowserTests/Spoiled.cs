using Microsoft.Playwright;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>How a kept map is spoiled.</summary>
internal enum SpoiledMap
{
    /// <summary>Not at all.</summary>
    AsFound,

    /// <summary>Three false seams that are doubtful, two false and sure, two missed, two points moved, one arc left straight.</summary>
    TenWrong,
}

/// <summary>The sample's map with known mistakes, and what it should be.</summary>
internal sealed class Spoiled
{
    private readonly KeptQuilt quilt;
    private readonly List<Edge<ClothSpace>> doubtfulFalse = [];

    private Spoiled(KeptQuilt quilt, QuiltMap truth)
    {
        this.quilt = quilt;
        True = truth;
    }

    public QuiltMap True { get; private set; }

    public List<Edge<ClothSpace>> SureFalse { get; } = [];

    public List<Edge<ClothSpace>> Missed { get; } = [];

    public List<(Point<ClothSpace> Now, Point<ClothSpace> Right)> Moved { get; } = [];

    public Edge<ClothSpace> Arc { get; private set; }

    public string Path => $"/quilt/{quilt.Id}/map";

    public ClothPicture Cloth =>
        QuiltSteps.ClothOf(quilt) ?? throw new InvalidOperationException("The sample has its cloth.");

    public byte[] Bytes() => File.ReadAllBytes(quilt.PathOf(QuiltStore.MapFile));

    public QuiltMap Kept() => QuiltMapFile.Read(Bytes(), QuiltStore.MapFile);

    public static Spoiled Make(QuiltStore store, string id, SpoiledMap how)
    {
        KeptQuilt kept = store.Open(id);
        Spoiled made = new(kept, QuiltSteps.MapOf(kept));
        if (how == SpoiledMap.TenWrong)
        {
            QuiltMap wrong = made.Spoil();
            store.Save(kept, (QuiltStore.MapFile, QuiltMapFile.Write(wrong)));
        }

        return made;
    }

    /// <summary>Whether the seam that the page asks about is one that was laid falsely: nearest to the chosen part's middle.</summary>
    public async Task<bool> AskedIsFalseAsync(IPage page)
    {
        string id = (await page.Locator(".look").GetAttributeAsync("data-part"))!;
        QuiltMap map = Kept();
        Point<ClothSpace> middle = map.EdgeOf(map.SeamOf(id)).PointAt(0.5);
        return doubtfulFalse.Exists(f => f.Nearest(middle).Distance < 0.05);
    }

    // Wrong as photographs make maps wrong: false seams across big patches, seams lost, points off by more than half an inch.
    private QuiltMap Spoil()
    {
        Patch[] big = [.. True.Patches.Where(p => p.Seams.Count == 4).OrderByDescending(AreaOf).ThenBy(p => p.Id)];
        HashSet<string> used = [];
        List<Edge<ClothSpace>> across = [];
        foreach (Patch patch in big)
        {
            if (across.Count < 5 && !patch.Seams.Any(used.Contains))
            {
                used.UnionWith(patch.Seams);
                Edge<ClothSpace>[] sides = [.. patch.Seams.Select(s => True.EdgeOf(True.SeamOf(s)))];

                // Off the middle, so that no seam of the quilt goes on there.
                Point<ClothSpace> from = sides[0].PointAt(0.4);
                across.Add(new(from, sides[2].PointAt(sides[2].Nearest(from).T)));
            }
        }

        Assert.Equal(5, across.Count);
        HashSet<string> outside =
        [
            .. True.Seams.Where(s => s.Role == SeamRole.Edge).SelectMany(s => new[] { s.From, s.To }),
        ];
        HashSet<string> points = [];
        List<Seam> alone = [];
        foreach (Seam s in True.Seams.Where(s => s.Role == SeamRole.Seam && !used.Contains(s.Id)))
        {
            // No two mistakes at one point, and none on the outline, whose points only slide.
            string[] ends = [s.From, s.To];
            if (alone.Count < 5 && !ends.Any(e => points.Contains(e) || outside.Contains(e)))
            {
                alone.Add(s);
                points.UnionWith(ends);
            }
        }

        Assert.Equal(5, alone.Count);
        Seam bent = alone[4];
        True = Mender.Apply(True, new BendSeam(new(bent.Id), 0.25)).Map;
        Arc = True.EdgeOf(True.SeamOf(bent.Id));
        QuiltMap map = Mender.Apply(True, new BendSeam(new(bent.Id), 0)).Map;
        foreach (Seam lost in alone[..2])
        {
            Missed.Add(map.EdgeOf(map.SeamOf(lost.Id)));
            map = Mender.Apply(map, new RemoveSeam(new(lost.Id))).Map;
        }

        foreach (Seam off in alone[2..4])
        {
            Junction point = map.JunctionOf(off.From);
            Vector<ClothSpace> away = (map.JunctionOf(off.To).Place - point.Place).Unit;
            Point<ClothSpace> to = point.Place + away * 0.6;
            map = Mender.Apply(map, new MovePoint(new(point.Id), to)).Map;
            Moved.Add((to, point.Place));
        }

        for (int i = 0; i < 5; i++)
        {
            HashSet<string> before = [.. map.Seams.Select(s => s.Id)];
            MendedMap laid = Mender.Apply(map, new AddSeam(across[i].From, across[i].To));
            map = laid.Map;
            string name = ((AddSeam)laid.Edit).Seam!;
            if (i < 3)
            {
                doubtfulFalse.Add(across[i]);
                map = map.With(seams: [.. map.Seams.Select(s => s.Id == name ? s with { Confidence = 0.45 } : s)]);
            }
            else
            {
                SureFalse.Add(across[i]);
            }
        }

        return map;
    }

    private double AreaOf(Patch patch)
    {
        Box<ClothSpace> box = Box<ClothSpace>.Around(patch.Seams.Select(s => True.EdgeOf(True.SeamOf(s)).PointAt(0.5)));
        return box.Width * box.Height;
    }
}
