using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>Fields of a file that this version does not know; kept when a file is read and written again.</summary>
public sealed class UnknownFields
{
    /// <summary>No unknown fields.</summary>
    public static readonly UnknownFields None = new(new Dictionary<string, JsonElement>());

    private readonly Dictionary<string, UnknownFields> inner = [];

    internal UnknownFields(IReadOnlyDictionary<string, JsonElement> values) => Values = values;

    /// <summary>Name and value of each.</summary>
    public IReadOnlyDictionary<string, JsonElement> Values { get; }

    /// <summary>A copy with one more number, for what a stage says beyond the format's own fields.</summary>
    public UnknownFields With(string name, double value) => With(name, JsonSerializer.SerializeToElement(value));

    /// <summary>A copy with one more text.</summary>
    public UnknownFields With(string name, string text) => With(name, JsonSerializer.SerializeToElement(text));

    /// <summary>A copy with one more value.</summary>
    public UnknownFields With(string name, JsonElement value)
    {
        UnknownFields copy = new(new Dictionary<string, JsonElement>(Values) { [name] = value });
        foreach ((string field, UnknownFields there) in inner)
        {
            copy.inner[field] = there;
        }

        return copy;
    }

    /// <summary>A copy without this one.</summary>
    public UnknownFields Without(string name)
    {
        UnknownFields copy = new(Values.Where(v => v.Key != name).ToDictionary(v => v.Key, v => v.Value));
        foreach ((string field, UnknownFields there) in inner)
        {
            copy.inner[field] = there;
        }

        return copy;
    }

    /// <summary>Those of a known field's own object, for objects that are no part of their own (a map's size).</summary>
    public UnknownFields In(string field) => inner.GetValueOrDefault(field, None);

    /// <summary>A copy that also holds the unknown fields of a known field's object.</summary>
    public UnknownFields With(string field, UnknownFields fields)
    {
        ArgumentNullException.ThrowIfNull(fields);
        if (fields.Values.Count == 0)
        {
            return this;
        }

        UnknownFields copy = new(Values);
        foreach ((string name, UnknownFields there) in inner)
        {
            copy.inner[name] = there;
        }

        copy.inner[field] = fields;
        return copy;
    }
}

/// <summary>A point where seams meet or end.</summary>
/// <param name="Id">Unique in the map.</param>
/// <param name="At">Place on the cloth, inches, with the standard deviation of one axis; zero for a draft.</param>
public sealed record Junction(string Id, Estimate<Point<ClothSpace>> At)
{
    /// <summary>Place on the cloth, inches.</summary>
    public Point<ClothSpace> Place => At.Value;

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}

/// <summary>What a seam is, the strongest that applies.</summary>
public enum SeamRole
{
    /// <summary>Inside a block.</summary>
    Seam,

    /// <summary>A block's boundary.</summary>
    Block,

    /// <summary>The mapped area's own outline.</summary>
    Edge,
}

/// <summary>What the mapped area's outline is at a seam of the role edge.</summary>
public enum EdgeKind
{
    /// <summary>A seam runs there (every draft).</summary>
    Seam,

    /// <summary>The top's raw edge; its outer 1/4 in disappears under the binding.</summary>
    Raw,

    /// <summary>Only where the picture or the map ends; never stitched.</summary>
    Cut,
}

/// <summary>A side of travel as seen on the page.</summary>
public enum Side
{
    /// <summary>Left of the way.</summary>
    Left,

    /// <summary>Right of the way.</summary>
    Right,
}

/// <summary>One piece of a seam, from junction to junction.</summary>
/// <param name="Id">Unique in the map.</param>
/// <param name="From">Junction id where it begins.</param>
/// <param name="To">Junction id where it ends.</param>
/// <param name="Bulge">0 for a line; see <see cref="Edge{TSpace}"/>.</param>
/// <param name="Role">The strongest role that applies.</param>
public sealed record Seam(string Id, string From, string To, double Bulge = 0, SeamRole Role = SeamRole.Seam)
{
    /// <summary>For the role edge alone: what the outline is here.</summary>
    public EdgeKind? Edge { get; init; }

    /// <summary>The low side, where the needle and the ruler go; null where unknown or pressed open.</summary>
    public Side? Ditch { get; init; }

    /// <summary>Why <see cref="Ditch"/> is what it is, in a few words (<c>the light</c>, <c>toward the dark</c>); null where nobody said.</summary>
    public string? DitchWhy { get; init; }

    /// <summary>How sure <see cref="Ditch"/> is, 0 to 1, where it was seen; null where it was told or follows from a rule.</summary>
    public double? DitchConfidence { get; init; }

    /// <summary>How sure the seam is, 0 to 1; 1 for a draft.</summary>
    public double Confidence { get; init; } = 1;

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}

/// <summary>One piece of cloth between seams.</summary>
/// <param name="Id">Unique in the map.</param>
/// <param name="Seams">Seam ids of the outer ring, clockwise as seen.</param>
public sealed record Patch(string Id, IReadOnlyList<string> Seams)
{
    /// <summary>Rings of seam ids inside it.</summary>
    public IReadOnlyList<IReadOnlyList<string>> Holes { get; init; } = [];

    /// <summary>Colour as <c>#rrggbb</c>, or null.</summary>
    public string? Color { get; init; }

    /// <summary>True where nothing is to be added inside (appliqué, a printed panel).</summary>
    public bool Leave { get; init; }

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}

/// <summary>One block of the quilt.</summary>
/// <param name="Id">Unique in the map.</param>
/// <param name="Corners">Four corners clockwise from the top left, inches.</param>
public sealed record Block(string Id, IReadOnlyList<Point<ClothSpace>> Corners)
{
    /// <summary>Row in the setting from 0 at the top, or null.</summary>
    public int? Row { get; init; }

    /// <summary>Column in the setting from 0 at the left, or null.</summary>
    public int? Column { get; init; }

    /// <summary>Id of the library block, or null where unknown.</summary>
    public string? Pattern { get; init; }

    /// <summary>The user's own word for it where no library block is named, or null.</summary>
    public string? Called { get; init; }

    /// <summary>Quarter turns clockwise, after the mirror.</summary>
    public int Turn { get; init; }

    /// <summary>Mirrored left to right before the turn.</summary>
    public bool Mirror { get; init; }

    /// <summary>Ids of its patches.</summary>
    public IReadOnlyList<string> Patches { get; init; } = [];

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}

/// <summary>
/// A quilt map: what is sewn where, in inches on the cloth (x right, y down, origin at the mapped area's top left). Immutable.
/// </summary>
public sealed class QuiltMap
{
    private readonly Dictionary<string, Junction> junctionById;
    private readonly Dictionary<string, int> seamIndexById;
    private readonly Dictionary<string, Patch> patchById;
    private readonly Dictionary<string, Block> blockById;

    /// <summary>Gathers the parts. Ids must be unique and references must resolve.</summary>
    /// <exception cref="InputException">An id stands twice, or a reference leads nowhere.</exception>
    public QuiltMap(
        Length width,
        Length height,
        IReadOnlyList<Junction> junctions,
        IReadOnlyList<Seam> seams,
        IReadOnlyList<Patch>? patches = null,
        IReadOnlyList<Block>? blocks = null,
        UnknownFields? unknown = null
    )
    {
        ArgumentNullException.ThrowIfNull(junctions);
        ArgumentNullException.ThrowIfNull(seams);
        Width = width;
        Height = height;
        Junctions = junctions;
        Seams = seams;
        Patches = patches ?? [];
        Blocks = blocks ?? [];
        Unknown = unknown ?? UnknownFields.None;
        junctionById = Index(Junctions, j => j.Id, "junction");
        patchById = Index(Patches, p => p.Id, "patch");
        blockById = Index(Blocks, b => b.Id, "block");
        seamIndexById = [];
        for (int i = 0; i < Seams.Count; i++)
        {
            Seam s = Seams[i];
            if (!seamIndexById.TryAdd(s.Id, i))
            {
                throw Twice("seam", s.Id);
            }

            Require(junctionById.ContainsKey(s.From), "seam", s.Id, "junction", s.From);
            Require(junctionById.ContainsKey(s.To), "seam", s.Id, "junction", s.To);
        }

        foreach (Patch p in Patches)
        {
            foreach (string id in p.Seams.Concat(p.Holes.SelectMany(h => h)))
            {
                Require(seamIndexById.ContainsKey(id), "patch", p.Id, "seam", id);
            }
        }

        foreach (Block b in Blocks)
        {
            foreach (string id in b.Patches)
            {
                Require(patchById.ContainsKey(id), "block", b.Id, "patch", id);
            }
        }
    }

    /// <summary>Width of the mapped area.</summary>
    public Length Width { get; }

    /// <summary>Height of the mapped area.</summary>
    public Length Height { get; }

    /// <summary>Points where seams meet.</summary>
    public IReadOnlyList<Junction> Junctions { get; }

    /// <summary>Seams, split at every junction.</summary>
    public IReadOnlyList<Seam> Seams { get; }

    /// <summary>Pieces of cloth.</summary>
    public IReadOnlyList<Patch> Patches { get; }

    /// <summary>Blocks.</summary>
    public IReadOnlyList<Block> Blocks { get; }

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; }

    /// <summary>The junction with this id.</summary>
    /// <exception cref="KeyNotFoundException">There is none.</exception>
    public Junction JunctionOf(string id) => junctionById[id];

    /// <summary>The seam with this id.</summary>
    /// <exception cref="KeyNotFoundException">There is none.</exception>
    public Seam SeamOf(string id) => Seams[seamIndexById[id]];

    /// <summary>Index of the seam with this id in <see cref="Seams"/>.</summary>
    /// <exception cref="KeyNotFoundException">There is none.</exception>
    public int SeamIndexOf(string id) => seamIndexById[id];

    /// <summary>The seam with this id, or null.</summary>
    public Seam? FindSeam(string id) => seamIndexById.TryGetValue(id, out int i) ? Seams[i] : null;

    /// <summary>The patch with this id.</summary>
    /// <exception cref="KeyNotFoundException">There is none.</exception>
    public Patch PatchOf(string id) => patchById[id];

    /// <summary>The block with this id, or null.</summary>
    public Block? FindBlock(string id) => blockById.GetValueOrDefault(id);

    /// <summary>The seam's line or arc, inches.</summary>
    public Edge<ClothSpace> EdgeOf(Seam seam)
    {
        ArgumentNullException.ThrowIfNull(seam);
        return new(junctionById[seam.From].Place, junctionById[seam.To].Place, seam.Bulge);
    }

    /// <summary>The plane graph: node i is junction i, edge i is seam i.</summary>
    public PlaneGraph<ClothSpace> ToPlaneGraph()
    {
        Dictionary<string, int> index = [];
        foreach (Junction j in Junctions)
        {
            index[j.Id] = index.Count;
        }

        return new([.. Junctions.Select(j => j.Place)], [.. Seams.Select(s => (index[s.From], index[s.To], s.Bulge))]);
    }

    /// <summary>A copy with other parts; what is null stays.</summary>
    public QuiltMap With(
        IReadOnlyList<Junction>? junctions = null,
        IReadOnlyList<Seam>? seams = null,
        IReadOnlyList<Patch>? patches = null,
        IReadOnlyList<Block>? blocks = null
    ) => new(Width, Height, junctions ?? Junctions, seams ?? Seams, patches ?? Patches, blocks ?? Blocks, Unknown);

    private static Dictionary<string, T> Index<T>(IReadOnlyList<T> items, Func<T, string> id, string kind)
    {
        Dictionary<string, T> byId = [];
        foreach (T item in items)
        {
            if (!byId.TryAdd(id(item), item))
            {
                throw Twice(kind, id(item));
            }
        }

        return byId;
    }

    private static InputException Twice(string kind, string id) =>
        new($"The {kind} id \"{id}\" stands twice in the map", $"{kind} {id}", "Give every part an id of its own.");

    private static void Require(bool found, string kind, string id, string targetKind, string target)
    {
        if (!found)
        {
            throw new InputException(
                $"A {kind} names a {targetKind} that the map does not have: \"{target}\"",
                $"{kind} {id}",
                $"Add the {targetKind}, or mend the name."
            );
        }
    }
}
