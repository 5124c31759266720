using System.Reflection;

namespace OverlayPlanner.Tests.House;

/// <summary>The projects under <c>src</c> and their compiled assemblies.</summary>
internal static class Sources
{
    /// <summary>Names of the project folders under <c>src</c>.</summary>
    public static IReadOnlyList<string> Projects { get; } =
    [
        .. Directory
            .GetFiles(Repository.PathOf("src"), "*.csproj", SearchOption.AllDirectories)
            .Select(f => Path.GetFileNameWithoutExtension(f))
            .Order(StringComparer.Ordinal),
    ];

    /// <summary>The project file of a project.</summary>
    public static string FileOf(string project) => Repository.PathOf($"src/{project}/{project}.csproj");

    /// <summary>The compiled assembly of a project, from the tests' own folder; null where the tests do not carry it.</summary>
    public static Assembly? AssemblyOf(string project)
    {
        string path = OutputOf(project, "dll");
        return File.Exists(path) ? Assembly.LoadFrom(path) : null;
    }

    /// <summary>The path of a project's compiled file with this extension, beside the tests.</summary>
    public static string OutputOf(string project, string extension)
    {
        string name = project == "OverlayPlanner.Cli" ? "overlayplanner" : project;
        return Path.Combine(AppContext.BaseDirectory, $"{name}.{extension}");
    }
}
