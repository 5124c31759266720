using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows;

/// <summary>
/// Maps a photograph that was taken after the quilt was advanced, and lays it on the quilt's map: the same ids, the cloth as it
/// lies now, and what is newly seen.
/// </summary>
public static class MapOnto
{
    /// <summary>Maps from marker cards, lays on, and writes.</summary>
    /// <exception cref="InputException">The photograph, the cards, the known map or a target can't be used, or the place can't be settled.</exception>
    public static (Written Written, QuiltMap Map, OntoReport Report) Run(
        CardMapQuestion question,
        OntoWishes onto,
        string output,
        string? preview,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(question);
        return Run(
            onto,
            question.Photos[0],
            question.Extras,
            output,
            preview,
            files,
            progress,
            known =>
                onto.Touched is { HasCorners: true } touched && question.Photos.Count == 1
                    ? MapQuilt.Run(BlockScale.Wishes(question, known, touched, onto.Tape), progress, cancellation)
                    : MapFromCards.Run(question.ToWishes(), progress, cancellation).Quilt,
            cancellation
        );
    }

    /// <summary>Maps from four corners, lays on, and writes.</summary>
    /// <exception cref="InputException">As the other.</exception>
    public static (Written Written, QuiltMap Map, OntoReport Report) Run(
        MapWishes wishes,
        OntoWishes onto,
        string output,
        string? preview,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        return Run(
            onto,
            wishes.Photo,
            wishes.Extras,
            output,
            preview,
            files,
            progress,
            _ => MapQuilt.Run(wishes, progress, cancellation),
            cancellation
        );
    }

    private static (Written Written, QuiltMap Map, OntoReport Report) Run(
        OntoWishes onto,
        string photo,
        MapExtras extras,
        string output,
        string? preview,
        OutputFiles files,
        IProgress<string>? progress,
        Func<QuiltMap, MappedQuilt> map,
        CancellationToken cancellation
    )
    {
        ArgumentNullException.ThrowIfNull(onto);
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        if (preview is not null)
        {
            files.Claim(preview);
        }

        extras.RefuseLaidOn();
        extras.Claim(files);
        QuiltMap known = onto.Read();
        MappedQuilt mapped = map(known);
        progress?.Report("Laying the photograph on the quilt");
        (QuiltMap laid, OntoReport report, IReadOnlyList<Finding> said) = Lay(mapped, known, onto, photo, cancellation);
        List<Finding> findings = [.. mapped.Findings, .. said];
        files.Add(output, QuiltMapFile.Write(laid));
        if (preview is not null)
        {
            progress?.Report("Drawing the preview");
            RenderedFile drawn = MapPreview.Render(mapped.Rectified, mapped.Map, mapped.Margin, cancellation);
            findings.AddRange(drawn.Findings);
            files.Add(preview, drawn.Bytes);
        }

        extras.Draw(mapped, files, progress, cancellation);
        files.Commit(cancellation);
        return (new(files.Paths, findings), laid, report);
    }

    /// <summary>Lays a mapped photograph on a known quilt, in memory.</summary>
    /// <exception cref="InputException">It fits nowhere, or at several places as well.</exception>
    public static (QuiltMap Map, OntoReport Report, IReadOnlyList<Finding> Findings) Lay(
        MappedQuilt mapped,
        QuiltMap known,
        OntoWishes onto,
        string photo,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(mapped);
        ArgumentNullException.ThrowIfNull(known);
        ArgumentNullException.ThrowIfNull(onto);
        QuiltScene<ClothSpace> before = QuiltScene<ClothSpace>.Of(known);
        QuiltScene<SeenSpace> now = QuiltScene<SeenSpace>.Of(mapped.Map);
        Point<SeenSpace>? touched = onto.Touched is { } t ? TouchedAt(t, mapped) : null;
        RegistrationAnswer answer = ClothRegistration.Find(before.Scene, now.Scene, cancellation);
        Registration way = OntoChoice.Settle(answer, onto, known, now.Scene, touched, photo);

        ClothNow cloth = new(way, before);
        (QuiltMap laid, IReadOnlyList<Finding> findings) = GrownMap.Of(known, mapped.Map, way, now, before, cloth);
        int added = laid.Junctions.Count(j => known.Junctions.All(k => k.Id != j.Id));
        Length[] sigmas =
        [
            .. laid
                .Junctions.Where(j =>
                    known.Junctions.FirstOrDefault(k => k.Id == j.Id) is not { } k || cloth.Shows(k.Place)
                )
                .Select(j => j.At.Sigma),
        ];
        ClothMotion motion = way.Motion;
        OntoReport report = new(
            motion.Turn,
            motion.Across,
            motion.LeastAcross,
            motion.MostAcross,
            motion.Down,
            way.KnownFromSeen(new(0, 0)),
            way.SeenFromKnown.Order.ToString().ToLowerInvariant(),
            way.Matches.Count,
            way.Matches.Count + way.Extra.Count + way.Missing.Count,
            added,
            CardsPlane.ErrorWithin(sigmas)
        );
        return (Remember(laid, report), report, findings);
    }

    // The map says what happened to its cloth, for whoever reads it later.
    private static QuiltMap Remember(QuiltMap map, OntoReport report) =>
        new(
            map.Width,
            map.Height,
            map.Junctions,
            map.Seams,
            map.Patches,
            map.Blocks,
            map.Unknown.With(
                "onto",
                JsonSerializer.SerializeToElement(
                    new Dictionary<string, double>
                    {
                        ["turnDegrees"] = report.TurnDegrees,
                        ["acrossPercent"] = report.AcrossPercent,
                        ["downPercent"] = report.DownPercent,
                        ["fromAcross"] = report.TopLeft.X,
                        ["fromDown"] = report.TopLeft.Y,
                        ["matched"] = report.Matched,
                    }
                )
            )
        );

    private static Point<SeenSpace> TouchedAt(TouchedBlock touched, MappedQuilt mapped)
    {
        IMap<ClothSpace, PhotoSpace> flat =
            mapped.ClothFromPhoto
            ?? throw new ArgumentException("The photograph's plane is not known.", nameof(mapped));
        Point<ClothSpace>[] at = [.. touched.At.Select(flat.Apply)];
        Point<SeenSpace> middle = new(at.Average(p => p.X), at.Average(p => p.Y));
        return
            mapped.Map.Width.Inches >= middle.X
            && middle.X >= 0
            && mapped.Map.Height.Inches >= middle.Y
            && middle.Y >= 0
            ? middle
            : throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"The touched place lies outside the mapped part of the photograph, at {middle.X:0.0}, {middle.Y:0.0} in"
                ),
                "--touch",
                "Give photo pixels of a place inside the block, where the photograph shows the quilt."
            );
    }
}
