global using OverlayPlanner.Tests.Support;
using System.Globalization;
using CsCheck;

namespace OverlayPlanner.Tests.Support;

/// <summary>Property tests that draw the same cases on every run: CsCheck's generators with a fixed seed.</summary>
/// <remarks>CsCheck's own <c>Sample</c> fixes only its first case, so two runs would test different things.</remarks>
public static class Property
{
    /// <summary>The seed of every property test that names no other.</summary>
    public const ulong Seed = 20_250_117;

    /// <summary>Runs <paramref name="check"/> on <paramref name="count"/> cases; a failure names the seed and the case.</summary>
    public static void ForAll<T>(Gen<T> cases, Action<T> check, int count = 1000, ulong seed = Seed)
    {
        PCG random = new(1, seed);
        string run = string.Create(CultureInfo.InvariantCulture, $"seed {seed}, {count} cases");
        TestContext.Current.TestOutputHelper?.WriteLine(run);
        for (int i = 0; i < count; i++)
        {
            T value = cases.Generate(random, null, out _);
            try
            {
                check(value);
            }
            catch (Exception e)
            {
                string at = string.Create(CultureInfo.InvariantCulture, $"{run}, fails at case {i}: ");
                throw new Xunit.Sdk.XunitException(at + Check.Print(value) + Environment.NewLine + e.Message, e);
            }
        }
    }
}
