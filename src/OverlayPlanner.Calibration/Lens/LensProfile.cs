using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Pixels of the picture that an ideal pinhole with the same focal lengths and centre would have taken: the photograph with the
/// lens's distortion taken out. Pixel centres at integers. Where no lens is known, it equals <see cref="PhotoSpace"/>.
/// </summary>
public abstract class FlatSpace : ISpace
{
    private FlatSpace() { }
}

/// <summary>
/// A camera's lens: focal lengths and centre in pixels of the upright picture, and the Brown–Conrady distortion k1, k2, p1, p2,
/// k3 in OpenCV's order and sign (D. C. Brown, 1966; J. Heikkilä and O. Silvén, 1997).
/// </summary>
/// <param name="Width">Pixels across of the pictures it holds for.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="Fx">Focal length along x, px.</param>
/// <param name="Fy">Focal length along y, px.</param>
/// <param name="Cx">Centre, x, px.</param>
/// <param name="Cy">Centre, y, px.</param>
/// <param name="Distortion">Five numbers: k1, k2, p1, p2, k3.</param>
public sealed record LensProfile(
    int Width,
    int Height,
    double Fx,
    double Fy,
    double Cx,
    double Cy,
    IReadOnlyList<double> Distortion
)
{
    /// <summary>The file's format.</summary>
    public const string Format = "overlayplanner.lens";

    /// <summary>The newest version that this program reads and the one that it writes.</summary>
    public const int Version = 1;

    private const string Model = "brown5";

    /// <summary>
    /// Covariance of the estimated numbers, rows in the order fx, fy, cx, cy, k1, k2, p1, p2, k3; or null.
    /// </summary>
    public IReadOnlyList<IReadOnlyList<double>>? Covariance { get; init; }

    /// <summary>What the file says about the camera, kept as it is; or null.</summary>
    public JsonElement? Camera { get; init; }

    /// <summary>Fields of the file that this version does not know; written again.</summary>
    public IReadOnlyDictionary<string, JsonElement> Unknown { get; init; } = new Dictionary<string, JsonElement>();

    /// <summary>Reads a profile.</summary>
    /// <exception cref="InputException">It is no lens profile, of a later version, of another model, or its numbers can't be.</exception>
    public static LensProfile Read(ReadOnlyMemory<byte> utf8, string name)
    {
        ProfileFile file = ProfileFile.Open(utf8, name, Format, Version);
        string? model = file.OptionalText("model");
        if (model != Model)
        {
            throw new InputException(
                model is null ? "The profile does not say its lens model" : $"The lens model {model} is not known here",
                $"{name}, model",
                $"Make the profile again, with the model {Model}."
            );
        }

        LensProfile lens = new(
            file.Pixels("width"),
            file.Pixels("height"),
            file.Number("fx"),
            file.Number("fy"),
            file.Number("cx"),
            file.Number("cy"),
            file.Numbers("distortion", 5)
        )
        {
            Covariance = file.OptionalSquare("covariance"),
            Camera = file.Element("camera"),
        };
        double longer = Math.Max(lens.Width, lens.Height);
        if (!(lens.Fx > 0.05 * longer && lens.Fx < 200 * longer && lens.Fy > 0.05 * longer && lens.Fy < 200 * longer))
        {
            throw file.Wrong("fx, fy", "a focal length in pixels");
        }

        return lens with
        {
            Unknown = file.Rest,
        };
    }

    /// <summary>Writes the profile as UTF-8 JSON.</summary>
    public byte[] Write() =>
        ProfileFile.Write(
            Format,
            Version,
            json =>
            {
                json.WriteNumber("width", Width);
                json.WriteNumber("height", Height);
                json.WriteString("model", Model);
                json.WriteNumber("fx", Fx);
                json.WriteNumber("fy", Fy);
                json.WriteNumber("cx", Cx);
                json.WriteNumber("cy", Cy);
                json.WritePropertyName("distortion");
                ProfileFile.WriteNumbers(json, Distortion);
                json.WritePropertyName("covariance");
                if (Covariance is null)
                {
                    json.WriteNullValue();
                }
                else
                {
                    json.WriteStartArray();
                    foreach (IReadOnlyList<double> row in Covariance)
                    {
                        ProfileFile.WriteNumbers(json, row);
                    }

                    json.WriteEndArray();
                }

                ProfileFile.WriteElement(json, "camera", Camera);
            },
            Unknown
        );

    /// <summary>
    /// The profile for a photo of this size: itself, or scaled where the photo is the same picture made smaller or larger.
    /// </summary>
    /// <exception cref="InputException">The photo has other proportions, or is turned.</exception>
    public LensProfile ForPhoto(int width, int height)
    {
        if (width == Width && height == Height)
        {
            return this;
        }

        double sx = (double)width / Width;
        double sy = (double)height / Height;
        string sizes = string.Create(
            CultureInfo.InvariantCulture,
            $"the profile is for {Width} × {Height} pixels, the photo is {width} × {height}"
        );
        if (Math.Abs(sx / sy - 1) > 0.005)
        {
            throw new InputException(
                "The lens profile does not belong to this photo",
                sizes,
                width == Height && height == Width
                    ? "Hold the camera the same way up for the profile and for the photo, or make a profile for this way."
                    : "Use the profile of the camera and lens that took the photo, and the photo uncropped."
            );
        }

        // Pixel centres are at integers, so a picture scaled by s takes x to s (x + ½) − ½.
        return this with
        {
            Width = width,
            Height = height,
            Fx = Fx * sx,
            Fy = Fy * sy,
            Cx = sx * (Cx + 0.5) - 0.5,
            Cy = sy * (Cy + 0.5) - 0.5,
            Covariance = null,
        };
    }

    /// <summary>
    /// Puts the distortion in: where the photograph shows a point of the ideal picture. NaN beyond the radius where the model folds
    /// back: far beside the frame it would put points into the frame again.
    /// </summary>
    public IMap<PhotoSpace, FlatSpace> PhotoFromFlat => new Distort(this);

    /// <summary>
    /// Takes the distortion out, by Newton's method to 1e-12 of the focal length. NaN where the photo point has no ideal point
    /// (beyond the radius where the model folds back).
    /// </summary>
    public IMap<FlatSpace, PhotoSpace> FlatFromPhoto => new Undistort(this);

    /// <summary>The distorted point of a normalised ideal point and its derivative, row by row.</summary>
    private (double X, double Y, double Xx, double Xy, double Yx, double Yy) DistortAt(double x, double y)
    {
        double k1 = Distortion[0];
        double k2 = Distortion[1];
        double p1 = Distortion[2];
        double p2 = Distortion[3];
        double k3 = Distortion[4];
        double r2 = x * x + y * y;
        double radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
        double slope = k1 + r2 * (2 * k2 + r2 * 3 * k3);
        double cross = 2 * x * y * slope + 2 * p1 * x + 2 * p2 * y;
        return (
            x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
            y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y,
            radial + 2 * x * x * slope + 2 * p1 * y + 6 * p2 * x,
            cross,
            cross,
            radial + 2 * y * y * slope + 6 * p1 * y + 2 * p2 * x
        );
    }

    // Square of the normalised radius up to which a point farther out is seen farther out; looked for as far as a lens of any
    // kind sees in a plane, 72° from its axis.
    private double Reach()
    {
        const double Farthest = 9;
        const double Step = 0.02;
        double s = 0;
        while (s < Farthest && 1 + s * (3 * Distortion[0] + s * (5 * Distortion[1] + s * 7 * Distortion[4])) > 0)
        {
            s += Step;
        }

        return s < Farthest ? s : double.PositiveInfinity;
    }

    private sealed class Distort(LensProfile lens) : IMap<PhotoSpace, FlatSpace>
    {
        private readonly double reach = lens.Reach();

        public Point<PhotoSpace> Apply(Point<FlatSpace> point)
        {
            double u = (point.X - lens.Cx) / lens.Fx;
            double v = (point.Y - lens.Cy) / lens.Fy;
            if (u * u + v * v > reach)
            {
                return new(double.NaN, double.NaN);
            }

            (double x, double y, _, _, _, _) = lens.DistortAt(u, v);
            return new(lens.Fx * x + lens.Cx, lens.Fy * y + lens.Cy);
        }
    }

    private sealed class Undistort(LensProfile lens) : IMap<FlatSpace, PhotoSpace>
    {
        private const int MostSteps = 50;

        public Point<FlatSpace> Apply(Point<PhotoSpace> point)
        {
            double xd = (point.X - lens.Cx) / lens.Fx;
            double yd = (point.Y - lens.Cy) / lens.Fy;
            (double x, double y) = (xd, yd);
            for (int step = 0; step < MostSteps; step++)
            {
                (double fx, double fy, double a, double b, double c, double d) = lens.DistortAt(x, y);
                double ex = fx - xd;
                double ey = fy - yd;
                double det = a * d - b * c;

                // The ideal point lies on the branch that holds the centre, where the derivative keeps its orientation.
                if (!(det > 0))
                {
                    break;
                }

                double dx = (d * ex - b * ey) / det;
                double dy = (a * ey - c * ex) / det;

                // A step longer than the radius itself would jump over the fold.
                double longest = 0.5 * (0.2 + Math.Sqrt(x * x + y * y));
                double length = Math.Sqrt(dx * dx + dy * dy);
                double shorten = length > longest ? longest / length : 1;
                x -= shorten * dx;
                y -= shorten * dy;
                if (length < 1e-13 * (1 + Math.Abs(x) + Math.Abs(y)))
                {
                    return new(lens.Fx * x + lens.Cx, lens.Fy * y + lens.Cy);
                }
            }

            (double rx, double ry, double ra, double rb, double rc, double rd) = lens.DistortAt(x, y);
            bool settled = Math.Abs(rx - xd) + Math.Abs(ry - yd) < 1e-9 && ra * rd - rb * rc > 0;
            return settled ? new(lens.Fx * x + lens.Cx, lens.Fy * y + lens.Cy) : new(double.NaN, double.NaN);
        }
    }
}
