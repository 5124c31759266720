using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom;

/// <summary>A quilt's files as the screens show and offer them: named ones only, never a path from the address.</summary>
internal static class QuiltFiles
{
    private static readonly Dictionary<string, string> Kinds = new(StringComparer.Ordinal)
    {
        [QuiltSteps.ViewFile] = "image/jpeg",
        [QuiltStore.ClothFile] = "image/jpeg",
        [QuiltSteps.PreviewFile] = "image/png",
        [QuiltStore.MapFile] = "application/json",
        [QuiltStore.RouteFile] = "application/json",
        ["sheets.pdf"] = "application/pdf",
        ["card.pdf"] = "application/pdf",
        ["route.svg"] = "image/svg+xml",
        ["route.hpgl"] = "application/octet-stream",
        ["route.dxf"] = "application/octet-stream",
        ["route.gcode"] = "application/octet-stream",
        ["practice.pdf"] = "application/pdf",
        ["class.pdf"] = "application/pdf",
        ["strip.pdf"] = "application/pdf",
        ["path.png"] = "image/png",
        ["path.svg"] = "image/svg+xml",
        ["path.webp"] = "image/webp",
    };

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet(
            "/files/{id}/{file}",
            (string id, string file, QuiltStore store) =>
            {
                if (!Kinds.TryGetValue(file, out string? kind))
                {
                    return Results.NotFound();
                }

                try
                {
                    string path = store.Open(id).PathOf(file);
                    return File.Exists(path)
                        ? Results.File(path, kind, kind is "image/jpeg" or "image/png" ? null : file)
                        : Results.NotFound();
                }
                catch (InputException)
                {
                    return Results.NotFound();
                }
            }
        );
        routes.MapGet(
            "/choices/{id}/{name}",
            async (
                string id,
                string name,
                int? width,
                QuiltStore store,
                HeavyWork work,
                CancellationToken cancellation
            ) =>
            {
                try
                {
                    KeptQuilt quilt = store.Open(id);
                    byte[] png = await work.RunAsync(
                        () => QuiltSteps.PictureOf(quilt, name, Math.Clamp(width ?? 700, 64, 2_000), cancellation),
                        cancellation
                    );
                    return Results.Bytes(png, "image/png");
                }
                catch (InputException)
                {
                    return Results.NotFound();
                }
            }
        );
        routes.MapGet(
            "/fonts/{name}.ttf",
            (string name) =>
                name is "regular" or "bold"
                && typeof(QuiltFiles).Assembly.GetManifestResourceStream(name + ".ttf") is { } font
                    ? Results.Stream(font, "font/ttf")
                    : Results.NotFound()
        );
    }
}
