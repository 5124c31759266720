using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Seams that a user names by their ids.</summary>
internal static class SeamNames
{
    private const int Offered = 3;

    /// <summary>Refuses ids that the map does not have, with those that look most like them.</summary>
    /// <param name="map">The map as it was read.</param>
    /// <param name="ids">Ids of seams.</param>
    /// <param name="option">Name of the wish, for messages.</param>
    /// <exception cref="InputException">An id is unknown.</exception>
    public static void Require(QuiltMap map, IEnumerable<string> ids, string option)
    {
        string[] unknown = [.. ids.Where(id => map.FindSeam(id) is null).Distinct()];
        if (unknown.Length == 0)
        {
            return;
        }

        string[] near =
        [
            .. map
                .Seams.Select(s => s.Id)
                .OrderBy(id => Edits(unknown[0], id))
                .ThenBy(id => id.Length)
                .ThenBy(id => id, StringComparer.Ordinal)
                .Take(Offered),
        ];
        throw new InputException(
            $"The map has no {(unknown.Length == 1 ? "seam" : "seams")} {string.Join(", ", unknown.Select(u => $"\"{u}\""))}",
            option,
            near.Length == 0 ? "It has no seams at all." : $"Did you mean {string.Join(" or ", near)}?"
        );
    }

    /// <summary>Ids, in a map whose seams may have been split since, of all pieces of the seams named.</summary>
    public static IReadOnlySet<string> Pieces(QuiltMap original, QuiltMap split, IReadOnlyCollection<string> ids)
    {
        if (ids.Count == 0)
        {
            return new HashSet<string>();
        }

        HashSet<string> named = [.. ids];
        return split.Seams.Select(s => s.Id).Where(id => named.Contains(OriginalOf(original, id))).ToHashSet();
    }

    /// <summary>The id, in the original map, of the seam that a piece was cut from.</summary>
    public static string OriginalOf(QuiltMap original, string id)
    {
        string known = id;
        while (original.FindSeam(known) is null)
        {
            int dot = known.LastIndexOf('.');
            if (dot <= 0)
            {
                return id;
            }

            known = known[..dot];
        }

        return known;
    }

    // Levenshtein 1966: insertions, deletions and changes of one character.
    private static int Edits(string a, string b)
    {
        int[] row = [.. Enumerable.Range(0, b.Length + 1)];
        for (int i = 1; i <= a.Length; i++)
        {
            int corner = row[0];
            row[0] = i;
            for (int k = 1; k <= b.Length; k++)
            {
                int change = corner + (a[i - 1] == b[k - 1] ? 0 : 1);
                corner = row[k];
                row[k] = Math.Min(change, Math.Min(row[k], row[k - 1]) + 1);
            }
        }

        return row[^1];
    }
}
