namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Repeatable random numbers: the same on every system and version (SplitMix64, G. Steele, D. Lea, C. Flood 2014).</summary>
internal sealed class Dice(ulong seed)
{
    private ulong state = seed * 0x9E3779B97F4A7C15UL + 0x1234567;

    public ulong Next()
    {
        state += 0x9E3779B97F4A7C15UL;
        return Mix(state);
    }

    /// <summary>In [0, 1).</summary>
    public double Unit() => (Next() >> 11) * (1.0 / (1UL << 53));

    /// <summary>In [low, high).</summary>
    public double Between(double low, double high) => low + (high - low) * Unit();

    /// <summary>In 0 … count − 1.</summary>
    public int Below(int count) => (int)(Next() % (ulong)count);

    /// <summary>True with this probability.</summary>
    public bool Chance(double probability) => Unit() < probability;

    public T Pick<T>(IReadOnlyList<T> items) => items[Below(items.Count)];

    /// <summary>Normal, mean 0, deviation 1 (Box–Muller).</summary>
    public double Normal() => Math.Sqrt(-2 * Math.Log(1 - Unit())) * Math.Cos(2 * Math.PI * Unit());

    /// <summary>A generator of its own for a part, so that a change in one part leaves the others as they were.</summary>
    public Dice Branch(int part) => new(Mix(state ^ (0xD1B54A32D192ED03UL * (ulong)(part + 1))));

    public static ulong Mix(ulong z)
    {
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return z ^ (z >> 31);
    }

    /// <summary>A number in [0, 1) that belongs to a lattice point.</summary>
    public static float Lattice(int x, int y, uint seed)
    {
        uint h = (uint)x * 374761393u + (uint)y * 668265263u + seed * 2246822519u;
        h = (h ^ (h >> 13)) * 1274126177u;
        h ^= h >> 16;
        return (h & 0xFFFFFF) * (1f / 0x1000000);
    }
}

/// <summary>Smooth noise on a lattice.</summary>
internal static class Noise
{
    /// <summary>In [0, 1], one bump in about a unit; repeats after <paramref name="period"/> units (0: never).</summary>
    public static float Value(double x, double y, uint seed, int period = 0)
    {
        int ix = (int)Math.Floor(x);
        int iy = (int)Math.Floor(y);
        float fx = Smooth((float)(x - ix));
        float fy = Smooth((float)(y - iy));
        (int x0, int x1) = (Wrap(ix, period), Wrap(ix + 1, period));
        (int y0, int y1) = (Wrap(iy, period), Wrap(iy + 1, period));
        float a = Dice.Lattice(x0, y0, seed);
        float b = Dice.Lattice(x1, y0, seed);
        float c = Dice.Lattice(x0, y1, seed);
        float d = Dice.Lattice(x1, y1, seed);
        return (a + (b - a) * fx) * (1 - fy) + (c + (d - c) * fx) * fy;
    }

    /// <summary>Octaves of <see cref="Value"/>, each twice as fine and half as strong; about [0, 1].</summary>
    public static float Fractal(double x, double y, uint seed, int octaves, int period = 0)
    {
        float sum = 0;
        float weight = 0.5f;
        float total = 0;
        for (int o = 0; o < octaves; o++)
        {
            sum += weight * Value(x, y, seed + (uint)o * 101, period);
            total += weight;
            weight /= 2;
            x *= 2;
            y *= 2;
            period *= 2;
        }

        return sum / total;
    }

    private static float Smooth(float t) => t * t * (3 - 2 * t);

    private static int Wrap(int i, int period) => period == 0 ? i : ((i % period) + period) % period;
}
