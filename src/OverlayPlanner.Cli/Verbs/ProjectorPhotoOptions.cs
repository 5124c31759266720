using System.CommandLine;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>What every photo of a projector's light is read with.</summary>
internal sealed class ProjectorPhotoOptions
{
    public ProjectorPhotoOptions(string photos, ArgumentArity arity)
    {
        Photos = new("PHOTO") { Arity = arity, Description = photos };
        Photos.Validators.Add(MapVerb.RefuseOptions);
    }

    public Argument<string[]> Photos { get; }

    public Option<string?> Lens { get; } =
        new("--lens") { Description = "A camera profile (lens.json) that takes the lens's distortion out." };

    public Option<string[]> Tapes { get; } =
        new("--tape")
        {
            Description = "A distance between two cards' centres measured by tape: 3:7=40.25. May be given again.",
        };

    public Option<string?> Printed { get; } =
        new("--printed")
        {
            Description = "The two long rulers on the printed card page as measured, across x down: 6.98x8.97.",
        };

    public ProjectorQuestion Read(ParseResult r) =>
        new()
        {
            Photos = r.GetValue(Photos) ?? [],
            Lens = r.GetValue(Lens),
            Tapes = r.GetValue(Tapes) ?? [],
            Printed = r.GetValue(Printed),
        };
}
