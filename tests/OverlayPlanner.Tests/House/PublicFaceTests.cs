using System.Reflection;
using System.Text.RegularExpressions;
using System.Xml.Linq;

namespace OverlayPlanner.Tests.House;

/// <summary>Rules for everything public under <c>src</c>.</summary>
public partial class PublicFaceTests
{
    public static TheoryData<string> Projects() => [.. Sources.Projects];

    [Theory]
    [MemberData(nameof(Projects))]
    public void No_type_is_named_for_having_no_purpose_of_its_own(string project)
    {
        IEnumerable<string> names = TypesOf(project).Select(t => t.Name);
        Assert.DoesNotContain(names, n => Vague().IsMatch(n));
        Assert.Matches(Vague(), "SeamHelper");
    }

    [Theory]
    [MemberData(nameof(Projects))]
    public void No_public_method_is_steered_by_a_bare_flag_among_its_required_arguments(string project)
    {
        // Enums, not flags: a call such as Draw(map, true) does not say what it asks for. Optional arguments and setters are
        // named where they are given; operators, records' own members and interfaces of the framework are not ours to name.
        IEnumerable<string> flagged =
            from type in TypesOf(project)
            where !type.IsDefined(typeof(System.Runtime.CompilerServices.CompilerGeneratedAttribute), false)
            from method in type.GetMethods(
                BindingFlags.Public | BindingFlags.Instance | BindingFlags.Static | BindingFlags.DeclaredOnly
            )
            where
                !method.IsSpecialName
                && !method.IsVirtual
                && method.Name != "Deconstruct"
                && method.GetParameters().Any(p => p.ParameterType == typeof(bool) && !p.IsOptional && !p.IsOut)
            select $"{type.Name}.{method.Name}";
        Assert.Empty(flagged);
    }

    [Theory]
    [MemberData(nameof(Projects))]
    public void Every_public_type_and_member_has_a_docstring_that_says_something(string project)
    {
        string path = Sources.OutputOf(project, "xml");
        Assert.SkipUnless(File.Exists(path), $"{project} gives no documentation file beside the tests.");
        IEnumerable<string> empty = XDocument
            .Load(path)
            .Descendants("member")
            .Where(m => m.Element("inheritdoc") is null)
            .SelectMany(m =>
                m.Elements()
                    .Where(e => e.Name.LocalName is "summary" or "param" or "returns" or "remarks")
                    .Where(e => e.Value.Trim().Length < 3 && !e.HasElements)
                    .Select(e => $"{(string?)m.Attribute("name")}: {e.Name}")
            );
        Assert.Empty(empty);
    }

    [Theory]
    [MemberData(nameof(Projects))]
    public void No_public_field_can_be_written(string project) =>
        Assert.Empty(
            from type in TypesOf(project)
            where !type.IsEnum
            from field in type.GetFields(BindingFlags.Public | BindingFlags.Instance | BindingFlags.Static)
            where !field.IsInitOnly && !field.IsLiteral
            select $"{type.Name}.{field.Name}"
        );

    [Theory]
    [MemberData(nameof(Projects))]
    public void Sources_hold_no_unfinished_work(string project)
    {
        IEnumerable<string> unfinished =
            from file in Directory.EnumerateFiles(
                Repository.PathOf($"src/{project}"),
                "*.cs",
                SearchOption.AllDirectories
            )
            where !file.Split(Path.DirectorySeparatorChar).Any(part => part is "obj" or "bin")
            where Unfinished().IsMatch(File.ReadAllText(file))
            select Path.GetFileName(file);
        Assert.Empty(unfinished);
        Assert.Matches(Unfinished(), "throw new NotImplementedException();");
    }

    private static Type[] TypesOf(string project)
    {
        Assembly? assembly = Sources.AssemblyOf(project);
        Assert.SkipWhen(assembly is null, $"{project} is not among the tests' assemblies.");
        return assembly!.GetExportedTypes();
    }

    [GeneratedRegex("(Helpers?|Managers?|Utils?|Utilit(y|ies)|Common)(`|$)", RegexOptions.CultureInvariant)]
    private static partial Regex Vague();

    [GeneratedRegex(@"\b(TODO|FIXME|HACK|XXX)\b|NotImplementedException", RegexOptions.CultureInvariant)]
    private static partial Regex Unfinished();
}
