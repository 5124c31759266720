using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>What the quilter told of herself and her machine, kept beside her quilts and used for all of them.</summary>
public sealed record RoomSettings
{
    /// <summary>Least and most diameter of a foot. A ruler foot is 1/2 in (handbook 3.3); the bounds are common practice, no source.</summary>
    public static readonly (Length Least, Length Most) Feet = (Length.FromInches(0.25), Length.FromInches(1.5));

    /// <summary>Least and most depth of a throat. Heads are up to 30 in long (handbook 3.1); the bounds are common practice, no source.</summary>
    public static readonly (Length Least, Length Most) Throats = (Length.FromInches(6), Length.FromInches(40));

    /// <summary>What lengths are read in.</summary>
    public LengthUnits Units { get; init; } = LengthUnits.Inches;

    /// <summary>Diameter of the ruler foot; null where she has not said.</summary>
    public Length? Foot { get; init; }

    /// <summary>Depth of the machine's throat, which bounds the reach; null where she has not said.</summary>
    public Length? Throat { get; init; }

    /// <summary>Her rulers as <see cref="PlanWishes.Rulers"/> takes them: a list's path, <c>none</c>, or null for the usual set.</summary>
    public string? Rulers { get; init; }

    /// <summary>True once she has answered the first visit's questions or passed them over.</summary>
    public bool Asked { get; init; }

    /// <summary>True while she follows the walk through.</summary>
    public bool Walking { get; init; }

    /// <summary>Lengths in her words.</summary>
    public LengthWords Words => new(Units);

    /// <summary>Checks what was typed.</summary>
    /// <exception cref="InputException">The foot or the throat lies outside its bounds.</exception>
    public void Require()
    {
        Require(Foot, Feet, "foot", "Measure across the foot where it runs along the ruler; most are 1/2 in, 12.7 mm.");
        Require(Throat, Throats, "throat", "Measure from the needle back to the machine's body.");
    }

    private void Require(Length? value, (Length Least, Length Most) range, string what, string remedy)
    {
        if (value is { } length && !(length >= range.Least && length <= range.Most))
        {
            throw new InputException(
                $"A {what} of {Words.Say(length)} can't be: from {Words.Say(range.Least)} to {Words.Say(range.Most)}",
                "your machine",
                remedy
            );
        }
    }
}
