namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>A folder of a test's own, gone after it.</summary>
internal sealed class TemporaryFolder : IDisposable
{
    public string Root { get; } = Directory.CreateTempSubdirectory("washbridge-test-").FullName;

    public string this[string name] => Path.Combine(Root, name);

    public void Dispose() => Directory.Delete(Root, recursive: true);
}
