namespace OverlayPlanner.Quilts.Blocks;

/// <summary>What a patch is in the setting of a top.</summary>
public enum SettingPart
{
    /// <summary>Part of a pieced block, or a plain block.</summary>
    Block,

    /// <summary>A strip between blocks.</summary>
    Sash,

    /// <summary>The piece where strips meet, whole or cut by the outline.</summary>
    Cornerstone,

    /// <summary>The half block that fills the side of an on-point top.</summary>
    SettingTriangle,

    /// <summary>The quarter block that fills the corner of an on-point top.</summary>
    CornerTriangle,

    /// <summary>A strip round the whole.</summary>
    Border,
}

/// <summary>The word for a part in a map file: the patch field <c>part</c>, an addition to the format.</summary>
public static class SettingPartField
{
    /// <summary>Name of the field.</summary>
    public const string Name = "part";

    /// <summary>The patch with its part told; blocks' own patches stay without the field.</summary>
    public static Patch Tell(Patch patch, SettingPart part)
    {
        ArgumentNullException.ThrowIfNull(patch);
        return part == SettingPart.Block ? patch : patch with { Unknown = patch.Unknown.With(Name, WordFor(part)) };
    }

    /// <summary>What a patch is, by its field; <see cref="SettingPart.Block"/> where it has none.</summary>
    public static SettingPart PartOf(Patch patch)
    {
        ArgumentNullException.ThrowIfNull(patch);
        if (
            patch.Unknown.Values.TryGetValue(Name, out System.Text.Json.JsonElement value)
            && value.ValueKind == System.Text.Json.JsonValueKind.String
        )
        {
            foreach (SettingPart part in Enum.GetValues<SettingPart>())
            {
                if (WordFor(part) == value.GetString())
                {
                    return part;
                }
            }
        }

        return SettingPart.Block;
    }

    private static string WordFor(SettingPart part) =>
        part switch
        {
            SettingPart.Sash => "sash",
            SettingPart.Cornerstone => "cornerstone",
            SettingPart.SettingTriangle => "setting-triangle",
            SettingPart.CornerTriangle => "corner-triangle",
            SettingPart.Border => "border",
            _ => "block",
        };
}
