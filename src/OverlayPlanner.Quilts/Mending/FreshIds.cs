using System.Globalization;
using System.Text.Json;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>
/// Ids for new things. A map remembers the highest number that each kind of id ever had (its field <c>lastIds</c>), so that the
/// id of something that was removed is never given to something else.
/// </summary>
internal sealed class FreshIds
{
    private const string Field = "lastIds";

    // Longer numbers are no counters.
    private const int MostDigits = 8;

    private readonly SortedDictionary<string, int> last = new(StringComparer.Ordinal);
    private readonly HashSet<string> taken;

    public FreshIds(QuiltMap map)
    {
        taken =
        [
            .. map.Junctions.Select(j => j.Id),
            .. map.Seams.Select(s => s.Id),
            .. map.Patches.Select(p => p.Id),
            .. map.Blocks.Select(b => b.Id),
        ];
        foreach (string id in taken)
        {
            Note(id);
        }

        if (map.Unknown.Values.TryGetValue(Field, out JsonElement stored) && stored.ValueKind == JsonValueKind.Object)
        {
            foreach (JsonProperty p in stored.EnumerateObject())
            {
                if (
                    p.Value.ValueKind == JsonValueKind.Number
                    && p.Value.TryGetInt32(out int n)
                    && n is > 0 and < 100_000_000
                )
                {
                    last[p.Name] = Math.Max(last.GetValueOrDefault(p.Name), n);
                }
            }
        }
    }

    /// <summary>An id that nothing has or had: the letter and a number.</summary>
    public string Next(string letter)
    {
        string id;
        do
        {
            last[letter] = last.GetValueOrDefault(letter) + 1;
            id = letter + last[letter].ToString(CultureInfo.InvariantCulture);
        } while (!taken.Add(id));

        return id;
    }

    /// <summary>The wished id where nothing has it, or else with a + more.</summary>
    public string Take(string wished)
    {
        while (!taken.Add(wished))
        {
            wished += "+";
        }

        Note(wished);
        return wished;
    }

    /// <summary>True where something has the id.</summary>
    public bool IsTaken(string id) => taken.Contains(id);

    /// <summary>Tells that an id is free, since what had it is named anew.</summary>
    public void Release(string id) => taken.Remove(id);

    /// <summary>As <see cref="Remember(UnknownFields)"/>, with the ids of another map besides.</summary>
    public UnknownFields Remember(UnknownFields unknown, QuiltMap other)
    {
        foreach ((string letter, int n) in new FreshIds(other).last)
        {
            last[letter] = Math.Max(last.GetValueOrDefault(letter), n);
        }

        return Remember(unknown);
    }

    /// <summary>The map's unknown fields with the numbers.</summary>
    public UnknownFields Remember(UnknownFields unknown) =>
        unknown.With(Field, JsonSerializer.SerializeToElement(last));

    private void Note(string id)
    {
        int digits = 0;
        while (digits + 1 < id.Length && char.IsAsciiDigit(id[digits + 1]))
        {
            digits++;
        }

        if (digits is > 0 and <= MostDigits && id[0] is 'j' or 's' or 'p' or 'b')
        {
            string letter = id[..1];
            int n = int.Parse(id.AsSpan(1, digits), NumberStyles.None, CultureInfo.InvariantCulture);
            last[letter] = Math.Max(last.GetValueOrDefault(letter), n);
        }
    }
}
