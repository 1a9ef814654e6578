namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>A folder of its own for a test, gone afterwards.</summary>
internal sealed class TestFolder : IDisposable
{
    public string Path { get; } = Directory.CreateTempSubdirectory("washbridge-pki-").FullName;

    public string this[params string[] names] => System.IO.Path.Combine([Path, .. names]);

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
