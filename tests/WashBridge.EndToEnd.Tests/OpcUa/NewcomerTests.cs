using System.Text.RegularExpressions;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>The way of the README from the example site to a washer that is read, with the program as its users start it and an independent server.</summary>
[Collection(OpcUaCollection.Name)]
public sealed class NewcomerTests : IDisposable
{
    private readonly TemporaryFolder folder = new();
    private readonly CancellationTokenSource deadline = new(TimeSpan.FromMinutes(5));

    private string Site => folder["example/site.yaml"];

    public void Dispose()
    {
        deadline.Dispose();
        folder.Dispose();
    }

    [Fact]
    public async Task A_washer_is_configured_trusted_browsed_mapped_and_checked()
    {
        // This server knows nobody until it is told to.
        await using var server = await OpcUaPeerServer.StartAsync(new { acceptClients = false });
        CopyExample(server);

        // The first check fails, and says how to trust the server.
        var (exit, output) = await RunAsync("check", Site);
        Assert.Equal(2, exit);
        Assert.Contains("BadCertificateUntrusted", output, StringComparison.Ordinal);
        using var certificate = OpcUaLab.LoadCertificate(server.CertificateFile);
        var command = Regex.Match(output, "washbridge (certificates trust [^ ]+ [0-9A-F]+)").Groups[1].Value;
        Assert.Equal($"certificates trust {Site} {certificate.Thumbprint[..8]}", command);
        (exit, output) = await RunAsync(command.Split(' '));
        Assert.Equal(0, exit);
        Assert.StartsWith("Trusted: CN=peer-server", output, StringComparison.Ordinal);

        // Now it is the server that refuses, and the check says which file to give it.
        (exit, output) = await RunAsync("check", Site);
        Assert.Equal(2, exit);
        var own = Regex.Match(output, "it must trust [0-9A-F]{40}, the file (.+)").Groups[1].Value;
        Assert.True(File.Exists(own), output);
        await server.DoAsync($"trust client {own}");

        // The tags of the example are not those of this server: each is told by name.
        (exit, output) = await RunAsync("check", Site);
        Assert.Equal(2, exit);
        Assert.Contains("the server has no such namespace; it has 1: urn:washbridge:tests:peer-server, 2: urn:washbridge:tests:plant", output, StringComparison.Ordinal);
        Assert.Contains("uses Aes256_Sha256_RsaPss with SignAndEncrypt as user keg\n", output, StringComparison.Ordinal);

        // Browsing finds them. 3,000 nodes in one folder come by continuation points.
        (exit, output) = await RunAsync("browse", Site, "--find", "temperature");
        Assert.Equal(0, exit);
        Assert.Matches(@"\nAnalog / Analog\.Temperature +Double +[0-9.]+ +°C +nsu=urn:washbridge:tests:plant;s=Analog\.Temperature\n", output);
        Assert.Matches(@"\n3[0-9]{3} nodes seen, 3[0-9]{3} variables, 1 with ""temperature""\.\n", output);
        (exit, output) = await RunAsync("browse", Site, "--find", "analog", "--yaml");
        Assert.Equal(0, exit);
        Assert.Contains("namespaces:\n  plant: urn:washbridge:tests:plant\n", output, StringComparison.Ordinal);

        // What is open gets its signal from a person; the rest of the map is kept.
        Assert.Contains("  # - {signal: ?, group: 0, node: ns=plant;s=Analog.Temperature}\n", output, StringComparison.Ordinal);
        var map = output.Replace("  # - {signal: ?, group: 0,", "  - {signal: temperature.caustic, group: 1,", StringComparison.Ordinal);
        File.WriteAllText(folder["example/tag-maps/line-2.yaml"], $"{map}  - {{signal: sequence.step, group: 0, node: ns=plant;s=V0}}\n");
        (exit, output) = await RunAsync("check", Site);
        Assert.Equal(0, exit);
        Assert.Contains("1 of 1 washers answered; 2 tags good, 0 uncertain, 0 bad.", output, StringComparison.Ordinal);
        Assert.Matches(@"\nsequence\.step +ns=plant;s=V0 +UInt32 +[0-9]+ +[0-9]+ +good", output);
    }

    [Theory]
    [InlineData("expired", "BadCertificateTimeInvalid", "expired")]
    [InlineData("wronghost", "BadCertificateHostNameInvalid", "other-host")]
    [InlineData("wronguri", "BadCertificateUriInvalid", "other-application-uri")]
    public async Task A_faulty_certificate_is_refused_even_if_it_is_trusted_unless_the_fault_is_allowed_by_name(string kind, string status, string exception)
    {
        await using var server = await OpcUaPeerServer.StartAsync(new { certificate = kind });
        CopyExample(server);
        await RunAsync("check", Site);
        using var certificate = OpcUaLab.LoadCertificate(server.CertificateFile);
        Assert.Equal(0, (await RunAsync("certificates", "trust", Site, certificate.Thumbprint)).Exit);
        var (exit, output) = await RunAsync("check", Site);
        Assert.Equal(2, exit);
        Assert.Contains($"nothing could be read: {status}", output, StringComparison.Ordinal);

        var washer = folder["example/washers/line-2.yaml"];
        File.WriteAllText(washer, File.ReadAllText(washer).Replace("\nprogramme:", $"\n  allow: [{exception}]\n\nprogramme:", StringComparison.Ordinal));
        (_, output) = await RunAsync("check", Site);
        Assert.Contains("a server whose certificate should be refused for this reason is let pass", output, StringComparison.Ordinal);
        Assert.Contains($"let pass knowingly: {status}", output, StringComparison.Ordinal);
        Assert.Contains("1 of 1 washers answered", output, StringComparison.Ordinal);
    }

    /// <summary>The example's second washer, at the server's address.</summary>
    private void CopyExample(OpcUaPeerServer server)
    {
        var source = Path.Combine(Repository.Root, "config", "example");
        foreach (var file in Directory.GetFiles(source, "*.yaml", SearchOption.AllDirectories))
        {
            var copy = Path.Combine(folder["example"], Path.GetRelativePath(source, file));
            Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
            File.WriteAllText(copy, File.ReadAllText(file)
                .Replace("  - washers/line-1.yaml\n", "", StringComparison.Ordinal)
                .Replace("endpoint: opc.tcp://192.0.2.20:4840", $"endpoint: {server.EndpointUrl}\n  timeout: 10 s\n  user: keg\n  secret: {{file: ../password.txt}}", StringComparison.Ordinal));
        }

        File.WriteAllText(folder["example/password.txt"], "washer\n");
    }

    private async Task<(int Exit, string Output)> RunAsync(params string[] arguments)
    {
        var (exit, output, errors) = await ProgramProcess.RunAsync(deadline.Token, arguments);
        Assert.DoesNotContain("   at WashBridge", errors, StringComparison.Ordinal);
        return (exit, output);
    }
}
