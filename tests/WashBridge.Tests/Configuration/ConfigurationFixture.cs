using WashBridge.Configuration;

namespace WashBridge.Tests.Configuration;

/// <summary>The good configuration in a folder of its own, to be spoilt by a test.</summary>
internal sealed class ConfigurationFixture : IDisposable
{
    /// <param name="good"><c>Good</c>, with Modbus washers, or <c>GoodOpcUa</c>.</param>
    public ConfigurationFixture(string good = "Good")
    {
        var source = Path.Combine(Repository.Root, "tests/WashBridge.Tests/Configuration", good);
        foreach (var file in Directory.GetFiles(source, "*", SearchOption.AllDirectories))
        {
            var copy = Path.Combine(Folder, Path.GetRelativePath(source, file));
            Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
            File.Copy(file, copy);
        }
    }

    public string Folder { get; } = Directory.CreateTempSubdirectory("washbridge-configuration-").FullName;

    /// <summary>Replaces the one place in a file where a text stands.</summary>
    public void Replace(string file, string text, string by)
    {
        var path = Path.Combine(Folder, file);
        var parts = File.ReadAllText(path).Split(text);
        Assert.True(parts.Length == 2, $"{text} stands {parts.Length - 1} times in {file}");
        File.WriteAllText(path, string.Join(by, parts));
    }

    public void Write(string file, string text) => File.WriteAllText(Path.Combine(Folder, file), text);

    public LoadedConfiguration Load() => ConfigurationLoader.Load(Path.Combine(Folder, "site.yaml"), name => name == "TEST_SECRET" ? "not-so-secret" : null);

    /// <summary>Problems with the folder left out.</summary>
    public IReadOnlyList<string> Problems() => [.. Load().Problems.Select(p => p.ToString().Replace(Folder + Path.DirectorySeparatorChar, "", StringComparison.Ordinal))];

    public void Dispose() => Directory.Delete(Folder, recursive: true);
}
