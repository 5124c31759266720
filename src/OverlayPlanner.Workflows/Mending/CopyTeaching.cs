using System.Security.Cryptography;
using System.Text;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>
/// Fits the copies of a block to their own pixels in a kept quilt's picture. That takes seconds, so each map that came of it is kept
/// beside the quilt's edits under a name that follows from the map before and the block: undo, redo and a program that was ended
/// find it again, and where it is gone it is made anew from the picture.
/// </summary>
internal sealed class CopyTeaching(KeptQuilt quilt)
{
    private const string Prefix = "taught-";
    private readonly Dictionary<string, byte[]> fresh = new(StringComparer.Ordinal);

    /// <summary>Whether there is a picture to fit to.</summary>
    public static bool CanTeach(KeptQuilt quilt) =>
        QuiltSteps.ClothOf(quilt) is not null && File.Exists(quilt.PathOf(ClothTiles.WholeFile));

    /// <summary>Names of the maps that are kept beside a quilt. They follow from the map before, so a map found anew needs none of them.</summary>
    public static IReadOnlyList<string> KeptBeside(KeptQuilt quilt) =>
        [.. Directory.EnumerateFiles(quilt.Folder, Prefix + "*.json").Select(f => Path.GetFileName(f))];

    /// <summary>Maps that are to be kept with the next save.</summary>
    public IEnumerable<(string File, ReadOnlyMemory<byte> Bytes)> Fresh =>
        fresh.Select(f => (f.Key, (ReadOnlyMemory<byte>)f.Value));

    /// <summary>Told what is being done, where somebody waits.</summary>
    public IProgress<string>? Progress { get; set; }

    /// <summary>The map with the copies fitted.</summary>
    /// <exception cref="InputException">There is no picture, or no such block.</exception>
    public QuiltMap Teach(QuiltMap map, TeachBlock edit)
    {
        string block =
            edit.Block.Id is { } id && map.FindBlock(id) is not null
                ? id
                : throw new InputException("The block is not there any more", $"{edit.Block}", "Choose another block.");
        string name = NameOf(map, block);
        if (!fresh.TryGetValue(name, out byte[]? bytes))
        {
            string path = quilt.PathOf(name);
            bytes = File.Exists(path) ? InputFiles.ReadAll(path).ToArray() : QuiltMapFile.Write(Fit(map, block));
        }

        // Read back in either case, so that the map is the same to the last digit whenever it is made.
        QuiltMap taught = MapCheck.RequirePlane(MapCheck.Inspect(QuiltMapFile.Read(bytes, name)), name);
        if (!File.Exists(quilt.PathOf(name)))
        {
            fresh[name] = bytes;
        }

        return taught;
    }

    /// <summary>What was given is on the disk.</summary>
    public void Saved() => fresh.Clear();

    private QuiltMap Fit(QuiltMap map, string block)
    {
        if (!CanTeach(quilt) || QuiltSteps.ClothOf(quilt) is not { } place)
        {
            throw new InputException(
                "The quilt has no picture to fit the copies to",
                quilt.Name,
                "Lay the block's seams into its copies by their corners instead."
            );
        }

        Picture whole = PhotoReader
            .Read(InputFiles.ReadAll(quilt.PathOf(ClothTiles.WholeFile)).ToArray(), ClothTiles.WholeFile)
            .Picture;
        Picture cloth = new(whole.Width, whole.Height, whole.Rgb, whole.Width / place.Width);
        DetectionWishes wishes = new()
        {
            Width = map.Width,
            Height = map.Height,
            Margin = Length.FromInches(-place.Left),

            // How well the scale is known is in the points' own errors: none comes out better known than those near it were.
            ScaleSigma = p => map.Junctions.MinBy(j => j.Place.DistanceTo(p))?.At.Sigma ?? Length.Zero,
            Progress = Progress,
        };
        using SeamFinder finder = new();
        return CarriedEdits.TeacherOf(finder, cloth, wishes, CancellationToken.None)(map, block).Map;
    }

    private static string NameOf(QuiltMap map, string block)
    {
        using IncrementalHash hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        hash.AppendData(QuiltMapFile.Write(map));
        hash.AppendData(Encoding.UTF8.GetBytes(block));
        return Prefix + Convert.ToHexStringLower(hash.GetHashAndReset())[..16] + ".json";
    }
}
