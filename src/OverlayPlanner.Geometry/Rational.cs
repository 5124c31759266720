using System.Numerics;

namespace OverlayPlanner.Geometry;

/// <summary>An exact fraction of two big integers; every finite double is one. For decisions, not for bulk arithmetic.</summary>
internal readonly struct Rational
{
    private readonly BigInteger numerator;
    private readonly BigInteger denominator;

    private Rational(BigInteger numerator, BigInteger denominator)
    {
        if (denominator.Sign < 0)
        {
            (numerator, denominator) = (-numerator, -denominator);
        }

        BigInteger g = BigInteger.GreatestCommonDivisor(numerator, denominator);
        this.numerator = g.IsOne ? numerator : numerator / g;
        this.denominator = g.IsOne ? denominator : denominator / g;
    }

    public int Sign => numerator.Sign;

    public static implicit operator Rational(double value)
    {
        long bits = BitConverter.DoubleToInt64Bits(value);
        int exponent = (int)((bits >> 52) & 0x7FF);
        long mantissa = bits & 0xFFFFFFFFFFFFFL;
        if (exponent == 0x7FF)
        {
            throw new ArgumentException("Not a finite number.", nameof(value));
        }

        mantissa = exponent == 0 ? mantissa : mantissa | (1L << 52);
        exponent = Math.Max(exponent, 1) - 1075;
        BigInteger n = bits < 0 ? -mantissa : mantissa;
        return exponent >= 0 ? new(n << exponent, BigInteger.One) : new(n, BigInteger.One << -exponent);
    }

    public static Rational operator +(Rational a, Rational b) =>
        new(a.numerator * b.denominator + b.numerator * a.denominator, a.denominator * b.denominator);

    public static Rational operator -(Rational a, Rational b) =>
        new(a.numerator * b.denominator - b.numerator * a.denominator, a.denominator * b.denominator);

    public static Rational operator -(Rational a) => new(-a.numerator, a.denominator);

    public static Rational operator *(Rational a, Rational b) =>
        new(a.numerator * b.numerator, a.denominator * b.denominator);

    public static Rational operator /(Rational a, Rational b) =>
        new(a.numerator * b.denominator, a.denominator * b.numerator);

    /// <summary>Sign of a + b·√d, exactly; d ≥ 0.</summary>
    public static int SignOfSurd(Rational a, Rational b, Rational d)
    {
        int sb = d.Sign == 0 ? 0 : b.Sign;
        if (a.Sign == sb || sb == 0)
        {
            return a.Sign;
        }

        // Opposite signs (or a = 0): the larger square wins.
        return a.Sign == 0 ? sb : (a * a - b * b * d).Sign * a.Sign;
    }
}
