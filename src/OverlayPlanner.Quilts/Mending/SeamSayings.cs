using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>What a person says of seams: their low side, and what the outline is.</summary>
internal static class SeamSayings
{
    /// <summary>Why a low side stands where a person told it; rules leave such seams alone, pressed-open ones too.</summary>
    public const string User = "you";

    private const double LeastPartInches = 0.125;
    private const double StraightCosine = 0.9962; // 5 degrees

    public static MendedMap SayDitch(QuiltMap map, SayDitch edit)
    {
        Seam seam = Spots.Seam(map, edit.Seam);
        Edge<ClothSpace> path = map.EdgeOf(seam);
        Side? side = edit.Side switch
        {
            LowSide.Open => null,
            LowSide.Left => Spots.Along(path, edit.Along) > 0 ? Side.Left : Side.Right,
            _ => Spots.Along(path, edit.Along) > 0 ? Side.Right : Side.Left,
        };
        Seam said = seam with { Ditch = side, DitchWhy = User, DitchConfidence = null };
        SayDitch kept = edit with
        {
            Seam = new(seam.Id, edit.Seam.At ?? path.PointAt(0.5)),
            Side =
                side is null ? LowSide.Open
                : side == Side.Left ? LowSide.Left
                : LowSide.Right,
            Along = path.To - path.From,
        };
        if (edit.Part is not { } part)
        {
            return new(map.With(seams: [.. map.Seams.Select(s => s == seam ? said : s)]), kept, []);
        }

        (double a, double da) = path.Nearest(part.From);
        (double b, double db) = path.Nearest(part.To);
        (double t0, double t1) = a < b ? (a, b) : (b, a);
        if (Math.Max(da, db) > Spots.ReachInches || (t1 - t0) * path.Length < LeastPartInches)
        {
            throw PlaneGuard.Refuse(
                $"The part of seam {seam.Id} is shorter than 1/8 in, or its ends do not lie on the seam",
                part.From,
                "Give two places on the seam."
            );
        }

        LooseMap loose = new(map);
        LooseSeam piece = loose.Of(seam);
        double least = LeastPartInches / path.Length;
        if (t1 < 1 - least)
        {
            loose.Split(piece, t1);
        }
        else
        {
            t1 = 1;
        }

        if (t0 > least)
        {
            loose.Split(piece, t0 / t1);
            piece = loose.Seams[^1];
        }

        piece.Template = said;
        return new(LooseMapAssembly.Assemble(loose, map.Blocks), kept, []);
    }

    public static MendedMap SayEdge(QuiltMap map, SayEdge edit)
    {
        Seam seam = Spots.Seam(map, edit.Seam);
        Edge<ClothSpace> path = map.EdgeOf(seam);
        if (seam.Role != SeamRole.Edge)
        {
            throw PlaneGuard.Refuse(
                $"Seam {seam.Id} is no part of the outline",
                path.PointAt(0.5),
                "Name a seam of the outline."
            );
        }

        HashSet<string> meant = edit.Reach == OutlineReach.Side ? SideOf(map, seam) : [seam.Id];
        return new(
            map.With(seams: [.. map.Seams.Select(s => meant.Contains(s.Id) ? s with { Edge = edit.Kind } : s)]),
            edit with
            {
                Seam = new(seam.Id, edit.Seam.At ?? path.PointAt(0.5)),
            },
            []
        );
    }

    // The outline's seams that run straight on from this one, both ways.
    private static HashSet<string> SideOf(QuiltMap map, Seam seam)
    {
        Seam[] outline = [.. map.Seams.Where(s => s.Role == SeamRole.Edge)];
        HashSet<string> side = [seam.Id];
        foreach (bool forward in new[] { true, false })
        {
            Seam last = seam;
            string at = forward ? seam.To : seam.From;
            while (true)
            {
                Vector<ClothSpace> way = map.JunctionOf(at).Place - map.JunctionOf(Other(last, at)).Place;
                Seam? next = Array.Find(
                    outline,
                    s =>
                        !side.Contains(s.Id)
                        && (s.From == at || s.To == at)
                        && (map.JunctionOf(Other(s, at)).Place - map.JunctionOf(at).Place).Unit.Dot(way.Unit)
                            > StraightCosine
                );
                if (next is null)
                {
                    break;
                }

                side.Add(next.Id);
                at = Other(next, at);
                last = next;
            }
        }

        return side;
    }

    private static string Other(Seam s, string end) => s.From == end ? s.To : s.From;
}
