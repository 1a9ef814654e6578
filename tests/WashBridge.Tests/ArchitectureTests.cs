using System.Xml.Linq;

namespace WashBridge.Tests;

/// <summary>The direction of dependencies, read from the project files: what the compiler can see is what is allowed.</summary>
public sealed class ArchitectureTests
{
    private static readonly Dictionary<string, string[]> Allowed = new()
    {
        ["WashBridge.Core"] = [],
        ["WashBridge.Protocols"] = [],
        ["WashBridge.Historian"] = ["WashBridge.Core"],
        ["WashBridge.Simulator"] = ["WashBridge.Core", "WashBridge.Protocols"],
        ["WashBridge"] = ["WashBridge.Core", "WashBridge.Protocols", "WashBridge.Historian", "WashBridge.Simulator"],
    };

    [Fact]
    public void Every_project_references_only_what_lies_below_it()
    {
        var projects = Directory.GetFiles(Path.Combine(Repository.Root, "src"), "*.csproj", SearchOption.AllDirectories);
        Assert.Equal(Allowed.Keys.Order(), projects.Select(Path.GetFileNameWithoutExtension).Order());
        foreach (var project in projects)
        {
            var referenced = XDocument.Load(project).Descendants("ProjectReference").Select(r => Path.GetFileNameWithoutExtension((string)r.Attribute("Include")!));
            Assert.Equal(Allowed[Path.GetFileNameWithoutExtension(project)].Order(), referenced.Order());
        }
    }

    [Fact]
    public void The_pure_core_references_no_package() =>
        Assert.Empty(XDocument.Load(Path.Combine(Repository.Root, "src/WashBridge.Core/WashBridge.Core.csproj")).Descendants("PackageReference"));
}
