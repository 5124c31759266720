using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows;

/// <summary>The bundled sample: a made photograph, where the corners of its top lie, and the top's size.</summary>
/// <param name="Jpeg">The photograph's file.</param>
/// <param name="Corners">Photo pixels of the four corners, clockwise from the top left.</param>
/// <param name="Width">Width between the corners.</param>
/// <param name="Height">Height between the corners.</param>
public sealed record Sample(byte[] Jpeg, IReadOnlyList<Point<PhotoSpace>> Corners, Length Width, Length Height)
{
    /// <summary>Loads it from the assembly.</summary>
    public static Sample Load()
    {
        using JsonDocument truth = JsonDocument.Parse(Resource("sampler-top.truth.json"));
        JsonElement root = truth.RootElement;
        JsonElement size = root.GetProperty("size");
        return new(
            Resource("sampler-top.jpg"),
            [
                .. root.GetProperty("cornersPx")
                    .EnumerateArray()
                    .Select(c => new Point<PhotoSpace>(c[0].GetDouble(), c[1].GetDouble())),
            ],
            Length.FromInches(size[0].GetDouble()),
            Length.FromInches(size[1].GetDouble())
        );
    }

    private static byte[] Resource(string name)
    {
        using Stream stream =
            typeof(Sample).Assembly.GetManifestResourceStream(name)
            ?? throw new InvalidOperationException($"The sample {name} is missing.");
        using MemoryStream copy = new();
        stream.CopyTo(copy);
        return copy.ToArray();
    }
}
