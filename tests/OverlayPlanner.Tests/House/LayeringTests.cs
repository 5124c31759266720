using System.Reflection;
using System.Xml.Linq;

namespace OverlayPlanner.Tests.House;

/// <summary>The house's plan: who may use whom. Arrows point to what is used; there are no others.</summary>
public class LayeringTests
{
    private const string Prefix = "OverlayPlanner.";

    private static readonly Dictionary<string, string[]> Arrows = new(StringComparer.Ordinal)
    {
        ["Geometry"] = [],
        ["Quilts"] = ["Geometry"],
        ["Calibration"] = ["Geometry"],
        ["Detection"] = ["Geometry", "Quilts"],
        ["Routing"] = ["Geometry", "Quilts"],
        ["Rendering"] = ["Geometry", "Quilts"],
        ["Workflows"] = ["Geometry", "Quilts", "Calibration", "Detection", "Routing", "Rendering"],
        ["Workroom"] = ["Workflows"],
        ["Cli"] = ["Workflows", "Workroom"],
    };

    // The two front ends see the nouns through Workflows, whose answers are made of them.
    private static readonly string[] Nouns = ["Geometry", "Quilts"];

    private static readonly string[] FrontEnds = ["Cli", "Workroom"];

    // Packages of which no type may show in a public signature, by the names of their assemblies.
    private static readonly string[] Hidden =
    [
        "OpenCvSharp",
        "SkiaSharp",
        "PdfSharp",
        "Google.OrTools",
        "Microsoft.ML.OnnxRuntime",
        "Magick.NET",
    ];

    public static TheoryData<string> Projects() => [.. Sources.Projects];

    [Fact]
    public void Every_project_has_its_place_in_the_plan() =>
        Assert.All(Sources.Projects, p => Assert.Contains(p[Prefix.Length..], Arrows.Keys));

    [Theory]
    [MemberData(nameof(Projects))]
    public void A_project_file_refers_to_what_the_plan_says_and_to_nothing_else(string project)
    {
        XDocument file = XDocument.Load(Sources.FileOf(project));
        string[] referred =
        [
            .. file.Descendants("ProjectReference")
                .Select(r => ((string)r.Attribute("Include")!).Replace('\\', '/').Split('/')[^1])
                .Select(f => Path.GetFileNameWithoutExtension(f)[Prefix.Length..])
                .Order(StringComparer.Ordinal),
        ];

        // The workroom comes later; until then the command line has no arrow to it.
        string[] planned =
        [
            .. Arrows[project[Prefix.Length..]]
                .Where(a => Sources.Projects.Contains(Prefix + a))
                .Order(StringComparer.Ordinal),
        ];
        Assert.Equal(planned, referred);
    }

    [Theory]
    [MemberData(nameof(Projects))]
    public void A_compiled_assembly_uses_only_what_the_plan_says(string project)
    {
        Assembly? assembly = Sources.AssemblyOf(project);
        Assert.SkipWhen(assembly is null, $"{project} is not among the tests' assemblies.");
        string own = project[Prefix.Length..];
        string[] allowed = [.. Arrows[own], .. FrontEnds.Contains(own) ? Nouns : []];
        string[] used =
        [
            .. assembly!
                .GetReferencedAssemblies()
                .Select(a => a.Name!)
                .Where(n => n.StartsWith(Prefix, StringComparison.Ordinal))
                .Select(n => n[Prefix.Length..]),
        ];

        Assert.Empty(used.Except(allowed));
    }

    [Fact]
    public void Geometry_depends_on_NetTopologySuite_and_nothing_else()
    {
        XDocument file = XDocument.Load(Sources.FileOf("OverlayPlanner.Geometry"));
        Assert.Equal(
            ["NetTopologySuite"],
            file.Descendants("PackageReference").Select(r => (string?)r.Attribute("Include"))
        );
        Assert.All(
            Sources.AssemblyOf("OverlayPlanner.Geometry")!.GetReferencedAssemblies().Select(a => a.Name!),
            n => Assert.True(n is "NetTopologySuite" || n.StartsWith("System.", StringComparison.Ordinal), n)
        );
    }

    [Theory]
    [MemberData(nameof(Projects))]
    public void No_type_of_a_hidden_package_shows_in_a_public_signature(string project)
    {
        Assembly? assembly = Sources.AssemblyOf(project);
        Assert.SkipWhen(assembly is null, $"{project} is not among the tests' assemblies.");
        Assert.Empty(FindHidden(assembly!.GetExportedTypes(), Hidden));
    }

    [Fact]
    public void The_search_of_signatures_finds_what_it_looks_for()
    {
        // Fields, properties, methods, their arguments and generic arguments, base types: each must be seen.
        string[] xunit = ["xunit"];
        foreach (
            Type shows in new[]
            {
                typeof(InField),
                typeof(InResult),
                typeof(InArgument),
                typeof(InGeneric),
                typeof(InBase),
            }
        )
        {
            Assert.NotEmpty(FindHidden([shows], xunit));
        }

        Assert.Empty(FindHidden([typeof(InPrivate)], xunit));
    }

    private static IEnumerable<string> FindHidden(IEnumerable<Type> types, string[] hidden)
    {
        const BindingFlags all =
            BindingFlags.Public
            | BindingFlags.NonPublic
            | BindingFlags.Instance
            | BindingFlags.Static
            | BindingFlags.DeclaredOnly;
        foreach (Type type in types)
        {
            IEnumerable<Type> shown =
            [
                .. type.BaseType is { } b ? [b] : Type.EmptyTypes,
                .. type.GetInterfaces(),
                .. type.GetFields(all).Where(f => f.IsPublic || f.IsFamily).Select(f => f.FieldType),
                .. type.GetConstructors(all)
                    .Where(c => c.IsPublic || c.IsFamily)
                    .SelectMany(c => c.GetParameters())
                    .Select(p => p.ParameterType),
                .. type.GetMethods(all)
                    .Where(m => m.IsPublic || m.IsFamily)
                    .SelectMany(m => m.GetParameters().Select(p => p.ParameterType).Append(m.ReturnType)),
            ];
            foreach (Type part in shown.SelectMany(Parts))
            {
                string from = part.Assembly.GetName().Name!;
                if (hidden.Any(h => from.StartsWith(h, StringComparison.OrdinalIgnoreCase)))
                {
                    yield return $"{type.FullName} shows {part.FullName}";
                }
            }
        }
    }

    private static IEnumerable<Type> Parts(Type type) =>
        type.HasElementType ? Parts(type.GetElementType()!)
        : type.IsGenericType ? type.GetGenericArguments().SelectMany(Parts).Append(type.GetGenericTypeDefinition())
        : [type];

#pragma warning disable CA1051, CS0649, IDE0051, CA1823, CS0169 // These types only show or hide a type of the test library.
    private sealed class InField
    {
        public Xunit.Sdk.XunitException? Shown;
    }

    private sealed class InResult
    {
        public Xunit.Sdk.XunitException? Shown => null;
    }

    private sealed class InArgument
    {
        public void Take(Xunit.Sdk.XunitException[] shown) => Assert.NotNull(shown);
    }

    private sealed class InGeneric
    {
        public Dictionary<string, List<Xunit.Sdk.XunitException>>? Shown => null;
    }

    private sealed class InBase() : Xunit.Sdk.XunitException("shown");

    private sealed class InPrivate
    {
        private readonly Xunit.Sdk.XunitException? hidden;
    }
#pragma warning restore CA1051, CS0649, IDE0051, CA1823, CS0169
}
