using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Workflows.Bringing;
using OverlayPlanner.Workflows.Mending;
using OverlayPlanner.Workflows.Printing;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>What a browser shows of a photograph.</summary>
/// <param name="Width">Pixels across of the upright photograph itself.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="Findings">What a person should know of it.</param>
public sealed record BroughtPhoto(int Width, int Height, IReadOnlyList<Finding> Findings);

/// <summary>What is known of a kept photograph: its size, and the rectangle whose sides are measured.</summary>
/// <param name="Width">Pixels across of the upright photograph.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="Corners">Photo pixels of the rectangle's corners, clockwise from the top left: x, y, x, y and so on.</param>
/// <param name="Across">Its width as typed.</param>
/// <param name="Down">Its height as typed.</param>
public sealed record PhotoPlace(int Width, int Height, IReadOnlyList<double> Corners, string Across, string Down);

/// <summary>The picture of the cloth and where it lies.</summary>
/// <param name="Left">Cloth inches of its left edge: negative where it shows a margin.</param>
/// <param name="Top">Cloth inches of its top edge.</param>
/// <param name="Width">Inches of cloth across.</param>
/// <param name="Height">Inches of cloth down.</param>
public sealed record ClothPicture(double Left, double Top, double Width, double Height);

/// <summary>A kept quilt that was just mapped.</summary>
/// <param name="Quilt">As it is kept now.</param>
/// <param name="Map">Its map.</param>
/// <param name="Findings">What a person should know.</param>
public sealed record MappedAndKept(KeptQuilt Quilt, QuiltMap Map, IReadOnlyList<Finding> Findings);

/// <summary>
/// The steps from a photograph to sheets on a kept quilt. Each saves what it made, all or nothing, before it returns, and takes
/// away what an earlier map or route no longer agrees with.
/// </summary>
public static class QuiltSteps
{
    /// <summary>Name of the photograph's picture for a screen.</summary>
    public const string ViewFile = "photo-view.jpg";

    /// <summary>Name of the file that says where the cloth picture lies, and what was found.</summary>
    public const string FoundFile = "found.json";

    /// <summary>Name of the map drawn over the cloth.</summary>
    public const string PreviewFile = "preview.png";

    /// <summary>Name of the file that keeps the photograph's size and the measured rectangle.</summary>
    public const string PlaceFile = "photo-place.json";

    /// <summary>Name of the file that keeps which choice was taken.</summary>
    public const string ChoiceFile = "choice.json";

    // Wide enough for a pin's head to be touched at any zoom, small enough to be shown at once.
    private const int MostViewPixels = 2_400;
    private const int MostClothPixels = 4_096;

    private static readonly string[] PhotoEndings = [".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".avif"];

    // What is drawn of one choice, and no longer holds once another is taken.
    private static readonly string[] OfChoice =
    [
        "sheets.pdf",
        "card.pdf",
        .. RenderRoute.PlotterEndings.Select(e => "route" + e),
        .. ToPractise.Files,
    ];

    // What no longer holds once the map is another.
    private static readonly string[] OfRoute = [QuiltStore.RouteFile, ChoiceFile, .. OfChoice];

    private static readonly JsonSerializerOptions Words = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        PropertyNameCaseInsensitive = true,
    };

    /// <summary>Brings a photograph to a quilt; an earlier photograph, its map and its routes give way to it.</summary>
    /// <param name="store">Where the quilt is kept.</param>
    /// <param name="quilt">The quilt.</param>
    /// <param name="bytes">The photograph's file.</param>
    /// <param name="name">Its name, for its ending and for messages.</param>
    /// <exception cref="InputException">It is no photograph that can be read.</exception>
    public static (KeptQuilt Quilt, BroughtPhoto Photo) BringPhoto(
        QuiltStore store,
        KeptQuilt quilt,
        byte[] bytes,
        string name,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(quilt);
        ArgumentNullException.ThrowIfNull(bytes);
        ArgumentNullException.ThrowIfNull(name);
        return Lay(store, quilt, bytes, name, Seen.Of(bytes, name, cancellation));
    }

    // All that takes time and may be cancelled is done before the quilt is touched.
    private sealed record Seen(Photo Photo, RenderedFile View, PhotoQuality Quality)
    {
        public static Seen Of(byte[] bytes, string name, CancellationToken cancellation)
        {
            Photo photo = PhotoReader.Read(bytes, name, cancellation);
            (RenderedFile view, _) = ScreenPicture.Render(photo.Picture, MostViewPixels, cancellation);
            return new(photo, view, PhotoQuality.Measure(photo, cancellation));
        }
    }

    private static (KeptQuilt Quilt, BroughtPhoto Photo) Lay(
        QuiltStore store,
        KeptQuilt quilt,
        byte[] bytes,
        string name,
        Seen seen
    )
    {
        Photo photo = seen.Photo;
        string ending = Path.GetExtension(name).ToLowerInvariant();
        string file = "photo" + (PhotoEndings.Contains(ending, StringComparer.Ordinal) ? ending : ".jpg");
        string? earlier = quilt.Photo;
        (int width, int height) = (photo.Picture.Width, photo.Picture.Height);

        // The pins begin well inside the picture, where they are seen and can be taken.
        PhotoPlace place = new(
            width,
            height,
            [
                0.2 * width,
                0.2 * height,
                0.8 * width,
                0.2 * height,
                0.8 * width,
                0.8 * height,
                0.2 * width,
                0.8 * height,
            ],
            "",
            ""
        );
        string[] former = earlier is not null && Path.GetFileName(earlier) != file ? [Path.GetFileName(earlier)] : [];
        quilt = store.Replace(
            quilt,
            [
                .. former,
                .. OfRoute,
                .. CopyTeaching.KeptBeside(quilt),
                QuiltStore.MapFile,
                QuiltStore.ClothFile,
                ClothTiles.WholeFile,
                PreviewFile,
                FoundFile,
            ],
            (file, bytes),
            (ViewFile, seen.View.Bytes),
            (PlaceFile, Written(place)),
            (PhotoQualityFile.Name, PhotoQualityFile.Write(new(seen.Quality, Accepted: false)))
        );
        return (quilt, new(photo.Picture.Width, photo.Picture.Height, photo.Findings));
    }

    /// <summary>A new quilt from a photograph, named after its file. Where the photograph can't be read, none is made.</summary>
    /// <exception cref="InputException">It is no photograph that can be read.</exception>
    public static KeptQuilt BringNew(
        QuiltStore store,
        byte[] bytes,
        string name,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(bytes);
        ArgumentNullException.ThrowIfNull(name);
        Seen seen = Seen.Of(bytes, name, cancellation);
        string stem = Path.GetFileNameWithoutExtension(name).Trim();
        KeptQuilt quilt = store.Create(stem.Length == 0 ? "My quilt" : stem[..Math.Min(stem.Length, 80)]);
        try
        {
            return Lay(store, quilt, bytes, name, seen).Quilt;
        }
        catch (InputException)
        {
            // A disk that is full, most likely: an empty quilt on the shelf would be no help.
            LeftOvers.TryDelete(quilt.Folder);
            throw;
        }
    }

    /// <summary>A new quilt with the bundled sample photograph in it.</summary>
    /// <returns>The quilt; its top's corners and size are filled in.</returns>
    public static KeptQuilt BringSample(QuiltStore store, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(store);
        Sample sample = Sample.Load();
        (KeptQuilt quilt, BroughtPhoto photo) = BringPhoto(
            store,
            store.Create("Sample: six stars"),
            sample.Jpeg,
            "photo.jpg",
            cancellation
        );
        return KeepPlace(
            store,
            quilt,
            new(
                photo.Width,
                photo.Height,
                [.. sample.Corners.SelectMany(c => new[] { c.X, c.Y })],
                Typed(sample.Width),
                Typed(sample.Height)
            )
        );
    }

    /// <summary>Maps the quilt from the corners of a rectangle of known size.</summary>
    /// <param name="corners">Photo pixels, clockwise from the top left.</param>
    /// <exception cref="InputException">There is no photograph, or the corners or the size can't be used.</exception>
    public static MappedAndKept MapByCorners(
        QuiltStore store,
        KeptQuilt quilt,
        IReadOnlyList<Point<PhotoSpace>> corners,
        Length width,
        Length height,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(quilt);
        ArgumentNullException.ThrowIfNull(corners);
        if (PlaceOf(quilt) is { } place)
        {
            // Kept before the work: pins that took a minute to place outlive a search that fails.
            quilt = KeepPlace(
                store,
                quilt,
                place with
                {
                    Corners = [.. corners.SelectMany(c => new[] { c.X, c.Y })],
                    Across = Typed(width),
                    Down = Typed(height),
                }
            );
        }

        MappedQuilt mapped = MapQuilt.Run(
            new MapWishes
            {
                Photo = PhotoOf(quilt),
                Corners = corners,
                Width = width,
                Height = height,
                Hints = MendingFiles.HintsOf(quilt),
                Extras = new() { OutlineFromPicture = true },
            },
            progress,
            cancellation
        );
        return Keep(store, quilt, mapped, cancellation);
    }

    /// <summary>Maps the quilt from the marker cards that its photograph shows.</summary>
    /// <exception cref="InputException">There is no photograph, or its cards give no scale.</exception>
    public static MappedAndKept MapByCards(
        QuiltStore store,
        KeptQuilt quilt,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(quilt);

        // Read anew: pins that were kept before count as this page's own, a change while the cards are looked for does not.
        quilt = store.Open(quilt.Id);
        CardMappedQuilt mapped = MapFromCards.Run(
            new CardMapWishes
            {
                Photos = [PhotoOf(quilt)],
                Hints = MendingFiles.HintsOf(quilt),
                Extras = new() { OutlineFromPicture = true },
            },
            progress,
            cancellation
        );
        return Keep(store, quilt, mapped.Quilt, cancellation);
    }

    /// <summary>The photograph's size and the rectangle that is measured, or null before there is a photograph.</summary>
    /// <exception cref="InputException">What is kept of them can't be read, or a later version of the program wrote it.</exception>
    public static PhotoPlace? PlaceOf(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        string path = quilt.PathOf(PlaceFile);
        if (quilt.Photo is null || !File.Exists(path))
        {
            return null;
        }

        LaterFiles.Require(quilt.Folder, quilt.Name, [PlaceFile]);
        try
        {
            PhotoPlace? place = JsonSerializer.Deserialize<PhotoPlace>(File.ReadAllBytes(path), Words);
            return place is { Width: > 0, Height: > 0, Corners.Count: 8, Across: not null, Down: not null }
                ? place
                : throw PlaceUnreadable(quilt, null);
        }
        catch (JsonException e)
        {
            throw PlaceUnreadable(quilt, e);
        }
    }

    /// <summary>Keeps which choice was taken. Sheets and files of another choice go, so that none is printed by mistake.</summary>
    /// <exception cref="InputException">There is no such choice.</exception>
    public static KeptQuilt Choose(QuiltStore store, KeptQuilt quilt, string choice)
    {
        ArgumentNullException.ThrowIfNull(store);
        Route route = RouteOf(quilt) ?? throw NoRoute();
        string name = route.CandidateOf(choice).Name;
        return name == ChoiceOf(quilt)
            ? store.Save(quilt, (ChoiceFile, Written(new Chosen(name))))
            : ChooseAnew(store, quilt, name);
    }

    /// <summary>As <see cref="Choose"/>, where the choice of that name is another than before.</summary>
    internal static KeptQuilt ChooseAnew(QuiltStore store, KeptQuilt quilt, string choice) =>
        store.Replace(store.Open(quilt.Id), OfChoice, (ChoiceFile, Written(new Chosen(choice))));

    /// <summary>The choice that was taken: the recommended one unless the user took another; null where none is planned.</summary>
    public static string? ChoiceOf(KeptQuilt quilt)
    {
        if (RouteOf(quilt) is not { } route)
        {
            return null;
        }

        string path = quilt.PathOf(ChoiceFile);
        string? name = File.Exists(path)
            ? JsonSerializer.Deserialize<Chosen>(File.ReadAllBytes(path), Words)?.Choice
            : null;
        return (route.Candidates.FirstOrDefault(c => c.Name == name) ?? route.Candidates[0]).Name;
    }

    /// <summary>Where the cloth picture lies, or null before there is one.</summary>
    public static ClothPicture? ClothOf(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        string path = quilt.PathOf(FoundFile);
        return quilt.Cloth is not null && File.Exists(path)
            ? JsonSerializer.Deserialize<ClothPicture>(File.ReadAllBytes(path), Words)
            : null;
    }

    /// <summary>The quilt's map.</summary>
    /// <exception cref="InputException">There is none, or it can't be read.</exception>
    public static QuiltMap MapOf(KeptQuilt quilt) => InputFiles.ReadPlaneMap(MapPathOf(quilt)).Map;

    /// <summary>The quilt's routes, or null before they were planned.</summary>
    /// <exception cref="InputException">They can't be read.</exception>
    public static Route? RouteOf(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        return quilt.Route is { } path ? InputFiles.ReadRoute(path) : null;
    }

    /// <summary>Plans routes on the quilt's map and keeps them.</summary>
    /// <exception cref="InputException">There is no map, or a wish can't be met.</exception>
    public static (KeptQuilt Quilt, Route Route, IReadOnlyList<Finding> Findings) Plan(
        QuiltStore store,
        KeptQuilt quilt,
        PlanWishes wishes,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(quilt);
        string apart = Directory.CreateTempSubdirectory("overlayplanner-plan-").FullName;
        try
        {
            string file = Path.Combine(apart, QuiltStore.RouteFile);
            (Written written, Route route) = PlanRoute.Run(
                MapPathOf(quilt),
                wishes,
                file,
                new OutputFiles(force: true),
                progress,
                cancellation
            );
            quilt = store.Replace(quilt, OfRoute, (QuiltStore.RouteFile, File.ReadAllBytes(file)));
            return (quilt, route, written.Findings);
        }
        finally
        {
            LeftOvers.TryDelete(apart);
        }
    }

    /// <summary>A choice's picture, PNG.</summary>
    /// <exception cref="InputException">There is no route, or no such choice.</exception>
    public static byte[] PictureOf(
        KeptQuilt quilt,
        string? choice,
        int widthPixels,
        CancellationToken cancellation = default
    )
    {
        Route route = RouteOf(quilt) ?? throw NoRoute();
        return RoutePicture.Render(route, route.CandidateOf(choice), widthPixels, cancellation).Bytes;
    }

    /// <summary>Writes trace sheets into the quilt's folder, whole, while nobody else changes it.</summary>
    /// <returns>The file's path and what a person should know.</returns>
    /// <exception cref="InputException">There is no route, or the paper can't be used.</exception>
    public static Written Sheets(
        KeptQuilt quilt,
        string? choice,
        SheetWords words,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    ) =>
        RenderRoute.Sheets(
            RoutePathOf(quilt),
            choice,
            words,
            quilt.PathOf("sheets.pdf"),
            MadeFromRoute.Begin(quilt),
            progress,
            cancellation
        );

    /// <summary>Writes the stitch card into the quilt's folder.</summary>
    /// <exception cref="InputException">There is no route, or the paper can't be used.</exception>
    public static Written Card(
        KeptQuilt quilt,
        string? choice,
        CardWords words,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    ) =>
        RenderRoute.Card(
            RoutePathOf(quilt),
            choice,
            words,
            quilt.PathOf("card.pdf"),
            MadeFromRoute.Begin(quilt),
            progress,
            cancellation
        );

    /// <summary>Writes a plotter's file into the quilt's folder.</summary>
    /// <param name="ending">One of <see cref="RenderRoute.PlotterEndings"/>.</param>
    /// <exception cref="InputException">There is no route.</exception>
    public static Written Plot(
        KeptQuilt quilt,
        string? choice,
        string ending,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    ) =>
        RenderRoute.Plot(
            RoutePathOf(quilt),
            choice,
            new PlotWords(),
            quilt.PathOf("route" + ending),
            MadeFromRoute.Begin(quilt),
            progress,
            cancellation
        );

    /// <summary>What no longer holds once the map is another: routes, the choice, sheets and the drawing of the map.</summary>
    internal static IReadOnlyList<string> OfMap { get; } = [.. OfRoute, PreviewFile];

    private static MappedAndKept Keep(
        QuiltStore store,
        KeptQuilt quilt,
        MappedQuilt mapped,
        CancellationToken cancellation
    )
    {
        ArgumentNullException.ThrowIfNull(store);
        double pixelsPerInch =
            mapped.Rectified.PixelsPerInch
            ?? throw new InvalidOperationException("A rectified picture knows its pixels to the inch.");
        (RenderedFile cloth, double scale) = ScreenPicture.Render(mapped.Rectified, MostClothPixels, cancellation);
        RenderedFile whole =
            scale < 1 ? ScreenPicture.Render(mapped.Rectified, int.MaxValue, cancellation).File : cloth;

        // Pixel centres are at integers: cloth at pixel p is (p + 1/2) / px/in − margin, so the picture's edge, at p = −1/2, lies
        // exactly a margin outside the map.
        ClothPicture place = new(
            -mapped.Margin.Inches,
            -mapped.Margin.Inches,
            mapped.Rectified.Width / pixelsPerInch,
            mapped.Rectified.Height / pixelsPerInch
        );

        // With the map: a route that lies beside another map would be followed.
        quilt = store.Replace(
            quilt,
            [.. OfRoute, .. CopyTeaching.KeptBeside(quilt)],
            (QuiltStore.MapFile, QuiltMapFile.Write(mapped.Map)),
            (QuiltStore.ClothFile, cloth.Bytes),
            (ClothTiles.WholeFile, whole.Bytes),
            (PreviewFile, MapPreview.Render(mapped.Rectified, mapped.Map, mapped.Margin, cancellation).Bytes),
            (FoundFile, Written(place)),
            (MissedLines.File, MissedLines.Write(mapped.Look))
        );
        return new(quilt, mapped.Map, mapped.Findings);
    }

    private static byte[] Written<T>(T value) => JsonSerializer.SerializeToUtf8Bytes(value, Words);

    private static string PhotoOf(KeptQuilt quilt) =>
        quilt.Photo ?? throw new InputException("The quilt has no photo", quilt.Name, "Bring a photo first.");

    private static string MapPathOf(KeptQuilt quilt) =>
        quilt.Map ?? throw new InputException("The quilt has no map", quilt.Name, "Find the seams first.");

    internal static string RoutePathOf(KeptQuilt quilt) => quilt.Route ?? throw NoRoute();

    private static InputException PlaceUnreadable(KeptQuilt quilt, Exception? cause) =>
        new(
            "The four pins on the photo can't be read",
            quilt.Name,
            "Bring the photo again, as a new quilt or in the place of this one.",
            cause!
        );

    private static InputException NoRoute() => new("No route is planned yet", "the choices", "Plan the choices first.");

    private static KeptQuilt KeepPlace(QuiltStore store, KeptQuilt quilt, PhotoPlace place) =>
        store.Save(quilt, (PlaceFile, Written(place)));

    private static string Typed(Length length) =>
        length.Inches.ToString("0.####", System.Globalization.CultureInfo.InvariantCulture);

    private sealed record Chosen(string Choice);
}
