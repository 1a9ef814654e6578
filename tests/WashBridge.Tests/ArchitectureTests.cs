using System.Reflection;
using System.Xml.Linq;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Tests;

/// <summary>The direction of dependencies, read from the project files: what the compiler can see is what is allowed.</summary>
public sealed class ArchitectureTests
{
    private static readonly Dictionary<string, string[]> Allowed = new()
    {
        ["WashBridge.Core"] = [],
        ["WashBridge.Analysis"] = ["WashBridge.Core"],
        ["WashBridge.Protocols"] = [],
        ["WashBridge.Historian"] = ["WashBridge.Core"],
        ["WashBridge.Simulator"] = ["WashBridge.Core", "WashBridge.Protocols"],
        ["WashBridge"] = ["WashBridge.Core", "WashBridge.Analysis", "WashBridge.Protocols", "WashBridge.Historian", "WashBridge.Simulator"],
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

    /// <summary>
    /// Encoding ids of the requests that change something at a server (OPC 10000-6, annex A.3): AddNodes, AddReferences, DeleteNodes, DeleteReferences, HistoryUpdate,
    /// Write and Call. No such message can be made here, and no function code of Modbus that writes (V1.1b3, 6: 05, 06, 0F, 10, 15, 16, 17) either.
    /// </summary>
    [Fact]
    public void Nothing_that_the_service_loads_can_write_to_a_controller()
    {
        uint[] writing = [488, 494, 500, 506, 700, 673, 712];
        var types = typeof(IEncodable<>).Assembly.GetTypes();
        var ids = types.Where(t => !t.IsInterface && t.GetInterfaces().Any(i => i.IsGenericType && i.GetGenericTypeDefinition() == typeof(IEncodable<>)))
            .ToDictionary(t => t, t => (uint)t.GetProperty(nameof(ReadRequest.EncodingId), BindingFlags.Public | BindingFlags.Static)!.GetValue(null)!);
        Assert.Equal(631u, ids[typeof(ReadRequest)]);
        Assert.True(ids.Count > 50, $"only {ids.Count} messages were found");
        Assert.DoesNotContain(ids, t => writing.Contains(t.Value));

        string[] words = ["WriteRequest", "CallRequest", "HistoryUpdate", "AddNodes", "DeleteNodes", "AddReferences", "DeleteReferences", "WriteSingle", "WriteMultiple", "MaskWrite"];
        Assert.DoesNotContain(types, t => words.Any(w => t.Name.Contains(w, StringComparison.Ordinal)));
    }
}
