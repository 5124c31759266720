using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// What a projector's lens and the cloth's sag leave over the homography: a polynomial of low order in the picture's own place.
/// </summary>
/// <remarks>
/// With n = (p − centre) ÷ scale, the point p of the homography is moved by scale × (Σ x[k] φ[k](n), Σ y[k] φ[k](n)) projector
/// px; φ are x², xy, y², x³, x²y, xy², y³. A lens's first radial term about any centre is among them.
/// </remarks>
/// <param name="Center">Where n is zero, projector px.</param>
/// <param name="Scale">Projector px for one unit of n.</param>
/// <param name="X">Seven numbers.</param>
/// <param name="Y">Seven numbers.</param>
public sealed record ProjectorBend(
    Point<ProjectorSpace> Center,
    double Scale,
    IReadOnlyList<double> X,
    IReadOnlyList<double> Y
)
{
    /// <summary>Terms of each axis.</summary>
    public const int Terms = 7;

    private const string Kind = "cubic";

    /// <summary>Where a point of the homography really is thrown from, projector px.</summary>
    public Point<ProjectorSpace> Apply(Point<ProjectorSpace> point)
    {
        double x = (point.X - Center.X) / Scale;
        double y = (point.Y - Center.Y) / Scale;
        Span<double> phi = stackalloc double[Terms];
        Basis(x, y, phi);
        double dx = 0;
        double dy = 0;
        for (int k = 0; k < Terms; k++)
        {
            dx += X[k] * phi[k];
            dy += Y[k] * phi[k];
        }

        return new(point.X + Scale * dx, point.Y + Scale * dy);
    }

    /// <summary>The point that <see cref="Apply"/> takes to <paramref name="bent"/>, to 1e-9 px where the bend is small.</summary>
    public Point<ProjectorSpace> Straighten(Point<ProjectorSpace> bent)
    {
        Point<ProjectorSpace> p = bent;
        for (int n = 0; n < 30; n++)
        {
            Vector<ProjectorSpace> off = bent - Apply(p);
            p += off;
            if (off.Norm < 1e-10)
            {
                break;
            }
        }

        return p;
    }

    internal static void Basis(double x, double y, Span<double> phi)
    {
        phi[0] = x * x;
        phi[1] = x * y;
        phi[2] = y * y;
        phi[3] = x * x * x;
        phi[4] = x * x * y;
        phi[5] = x * y * y;
        phi[6] = y * y * y;
    }

    internal static void BasisBy(double x, double y, Span<double> byX, Span<double> byY)
    {
        byX[0] = 2 * x;
        byX[1] = y;
        byX[2] = 0;
        byX[3] = 3 * x * x;
        byX[4] = 2 * x * y;
        byX[5] = y * y;
        byX[6] = 0;
        byY[0] = 0;
        byY[1] = x;
        byY[2] = 2 * y;
        byY[3] = 0;
        byY[4] = x * x;
        byY[5] = 2 * x * y;
        byY[6] = 3 * y * y;
    }

    /// <summary>As the profile's <c>residual</c>.</summary>
    internal JsonElement ToJson() =>
        JsonSerializer.SerializeToElement(
            new Dictionary<string, object>
            {
                ["kind"] = Kind,
                ["center"] = new[] { Center.X, Center.Y },
                ["scale"] = Scale,
                ["x"] = X,
                ["y"] = Y,
            }
        );

    /// <summary>The bend that a profile's <c>residual</c> says, or null where it says none.</summary>
    /// <exception cref="InputException">It is of a kind that is not known here, or its numbers can't be.</exception>
    internal static ProjectorBend? FromJson(JsonElement? residual, string name)
    {
        if (
            residual is not { ValueKind: JsonValueKind.Object } o
            || !o.TryGetProperty("kind", out JsonElement kind)
            || kind.ValueKind != JsonValueKind.String
        )
        {
            return null;
        }

        if (kind.GetString() != Kind)
        {
            throw new InputException(
                $"The projector's residual {kind.GetString()} is not known here",
                $"{name}, residual.kind",
                "Bring the program up to date, or calibrate the projector again."
            );
        }

        double[] center = Numbers("center", 2);
        double[] scale =
            o.TryGetProperty("scale", out JsonElement s) && s.ValueKind == JsonValueKind.Number ? [s.GetDouble()] : [];
        double[] x = Numbers("x", Terms);
        double[] y = Numbers("y", Terms);
        return scale is [> 0] && center.Concat(x).Concat(y).All(double.IsFinite)
            ? new(new(center[0], center[1]), scale[0], x, y)
            : throw Wrong("scale");

        double[] Numbers(string field, int count) =>
            o.TryGetProperty(field, out JsonElement e)
            && e.ValueKind == JsonValueKind.Array
            && e.GetArrayLength() == count
            && e.EnumerateArray().All(v => v.ValueKind == JsonValueKind.Number)
                ? [.. e.EnumerateArray().Select(v => v.GetDouble())]
                : throw Wrong(field);

        InputException Wrong(string field) =>
            new(
                "The projector's residual has something else where numbers should stand",
                $"{name}, residual.{field}",
                "Calibrate the projector again."
            );
    }
}
