using System.Text.Json.Nodes;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>The peers against each other: what fails here is the tests' tool and not ours.</summary>
public sealed class PeerTests
{
    [Fact]
    public async Task The_peers_agree_about_values_commands_and_refusals()
    {
        await using var server = await OpcUaPeerServer.StartAsync(new { rateHz = 20, maxBrowseContinuationPoints = 2 });
        await using var client = await OpcUaPeerClient.StartAsync();
        var ns = $"ns={server.NamespaceIndex};s=";
        var wrong = await client.TryAsync(new { @do = "connect", url = server.EndpointUrl, identity = new { user = "keg", password = "wrong" } });
        Assert.StartsWith("BadUserAccessDenied", (string?)wrong["error"], StringComparison.Ordinal);
        await client.DoAsync(new { @do = "connect", url = server.EndpointUrl, policy = "Basic256Sha256", identity = new { user = "keg", password = "washer" } });

        var big = await client.DoAsync(new { @do = "browse", node = ns + "Big", max = 100 });
        Assert.Equal(3000, big["references"]!.AsArray().Count);
        Assert.Equal(30, (int)big["calls"]!);

        var watch = await client.DoAsync(new { @do = "subscribe", nodes = new[] { ns + "V0", ns + "V2", ns + "V5" }, counting = true, publishing = 50, sampling = 20 });
        await server.DoAsync("set V0 1000000");
        await server.DoAsync("status V1 BadSensorFailure");
        var read = await client.DoAsync(new { @do = "read", nodes = new[] { ns + "V0", ns + "V1", ns + "Matrix.Double" } });
        Assert.Equal(1_000_000, (int)read["values"]![0]!["value"]!["value"]!);
        Assert.Equal("BadSensorFailure", (string?)read["values"]![1]!["status"]);
        Assert.Equal("[2,3]", read["values"]![2]!["value"]!["dimensions"]!.ToJsonString());

        JsonNode report;
        do
        {
            report = await client.DoAsync(new { @do = "report", id = (int)watch["id"]! });
        }
        while ((int)report["notifications"]! < 10);
        Assert.Equal(0, (int)report["sequenceHoles"]!);
        Assert.InRange((int)report["holes"]!, 900_000, 1_000_000);
    }
}
