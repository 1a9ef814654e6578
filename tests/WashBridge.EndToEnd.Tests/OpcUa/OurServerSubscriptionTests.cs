using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>A node-opcua client that watches our server: nothing is lost, through renewals, small chunks, lost connections and a restart.</summary>
[Collection(OpcUaCollection.Name)]
public sealed class OurServerSubscriptionTests(OurServerFixture fixture)
{
    private const int Items = 60;

    private OpcUaPeerClient Client => fixture.Client;

    private OurServer Server => fixture.Server;

    [Fact]
    public async Task No_value_is_lost_in_small_chunks_and_through_renewals_of_the_token()
    {
        var before = await Client.DoAsync(new { @do = "state" });
        await ConnectAsync(new { chunk = 8192, tokenLifetime = 2000 });
        var id = await SubscribeAsync(Server, Items);

        // The server grants ten seconds at least, and the client renews after three quarters of them (OPC 10000-4, 5.6.2).
        while ((int)(await Client.DoAsync(new { @do = "state" }))["renewed"]! == (int)before["renewed"]!)
        {
            var values = await Client.DoAsync(new { @do = "read", nodes = new[] { Server.Id("Long").ToString() } });
            Assert.Equal(200_000, ((string)values["values"]![0]!["value"]!["value"]!).Length);
        }

        var report = await UntilAsync(id, r => (int)r["notifications"]! > Items * 30);
        Assert.Equal((0, 0, 0), ((int)report["holes"]!, (int)report["sequenceHoles"]!, (int)report["bad"]!));
        Assert.Equal(Items, (int)report["nodes"]!);
    }

    [Fact]
    public async Task A_queue_that_is_too_short_tells_so_by_the_overflow_bit()
    {
        await ConnectAsync();
        var answer = await Client.DoAsync(new { @do = "subscribe", nodes = new[] { Server.Id("V0").ToString() }, publishing = 1000, sampling = 20, queue = 2 });
        await UntilAsync((long)answer["id"]!, r => (int)r["overflows"]! >= 2);
    }

    [Fact]
    public async Task Bad_statuses_and_removed_nodes_are_told_and_hurt_no_other()
    {
        await using var server = await OurServer.StartAsync(fixture.Validator);
        await Client.DoAsync(new { @do = "connect", url = server.Url, policy = "Basic256Sha256" });
        var answer = await Client.DoAsync(new { @do = "subscribe", nodes = new[] { "Odd", "Temperature", "V0", "Missing" }.Select(name => server.Id(name).ToString()), publishing = 50, sampling = 20 });
        Assert.Equal(["Good", "Good", "Good", "BadNodeIdUnknown"], answer["statuses"]!.AsArray().Select(s => (string)s!));
        var id = (long)answer["id"]!;
        await UntilAsync(id, r => Status(r, server, "Odd") == "BadSensorFailure");
        server.Variable("Temperature").Set(61d, StatusCodes.UncertainLastUsableValue);
        await UntilAsync(id, r => Status(r, server, "Temperature") == "UncertainLastUsableValue");
        server.Space.Remove(server.Variable("Temperature"));
        await UntilAsync(id, r => Status(r, server, "Temperature") == "BadNodeIdUnknown");
        var before = (int)(await ReportAsync(id))["notifications"]!;
        await UntilAsync(id, r => (int)r["notifications"]! > before + 3);
        await Client.DoAsync(new { @do = "close" });
    }

    [Fact]
    public async Task A_client_whose_connection_is_cut_goes_on_without_loss()
    {
        await using var server = await OurServer.StartAsync(fixture.Validator);
        var before = (int)(await Client.DoAsync(new { @do = "state" }))["back"]!;
        await Client.DoAsync(new { @do = "connect", url = server.Url, policy = "Basic256Sha256", reconnect = true });
        var id = await SubscribeAsync(server, 20);
        await UntilAsync(id, r => (int)r["notifications"]! > 100);
        server.Server.DropConnections();
        await Poll.UntilAsync(async () => (int)(await Client.DoAsync(new { @do = "state" }))["back"]! > before, "the client is back");
        var seen = (int)(await ReportAsync(id))["notifications"]!;
        var report = await UntilAsync(id, r => (int)r["notifications"]! > seen + 100);
        Assert.Equal(0, (int)report["holes"]!);
        Assert.Equal(1, server.Server.SubscriptionCount);
        await Client.DoAsync(new { @do = "close" });
        Assert.Equal((0, 0), (server.Server.SessionCount, server.Server.SubscriptionCount));
    }

    /// <summary>How often the client has lost a connection so far.</summary>
    private async Task<int> LostAsync() => (int)(await Client.DoAsync(new { @do = "state" }))["lost"]!;

    [Fact]
    public async Task A_client_is_back_after_our_server_was_restarted()
    {
        await using var server = await OurServer.StartAsync(fixture.Validator);
        await Client.DoAsync(new { @do = "connect", url = server.Url, policy = "Aes128_Sha256_RsaOaep", mode = "Sign", reconnect = true, identity = new { user = "keg", password = "washer" } });
        var id = await SubscribeAsync(server, 20);
        await UntilAsync(id, r => (int)r["notifications"]! > 100);
        var lost = await LostAsync();
        await server.RestartAsync(() => Poll.UntilAsync(async () => await LostAsync() > lost, "the client notices that the server is gone"));
        var before = (int)(await ReportAsync(id))["notifications"]!;
        await UntilAsync(id, r => (int)r["notifications"]! > before + 100);
        Assert.Equal((1, 1), (server.Server.SessionCount, server.Server.SubscriptionCount));
        await Client.DoAsync(new { @do = "close" });
    }

    [Fact]
    public async Task A_subscription_is_taken_over_by_another_session_of_the_same_user()
    {
        await ConnectAsync();
        var id = await SubscribeAsync(Server, 5);
        var user = await Client.DoAsync(new { @do = "transfer", id, identity = new { user = "keg", password = "washer" } });
        Assert.Equal(("Good", "Good"), ((string?)user["service"], (string?)user["results"]![0]!["status"]));
    }

    [Fact]
    public async Task A_subscription_is_not_taken_over_by_another_user()
    {
        await ConnectAsync();
        var id = await SubscribeAsync(Server, 5);
        var stranger = await Client.DoAsync(new { @do = "transfer", id });
        Assert.StartsWith("Bad", (string?)stranger["results"]![0]!["status"], StringComparison.Ordinal);
        var before = (int)(await ReportAsync(id))["notifications"]!;
        await UntilAsync(id, r => (int)r["notifications"]! > before + 10);
    }

    private static string? Status(JsonNode report, OurServer server, string name) => (string?)report["last"]![server.Id(name).ToString()]?["status"];

    private Task<JsonNode> ConnectAsync(object? more = null)
    {
        var command = JsonNode.Parse(System.Text.Json.JsonSerializer.Serialize(new { @do = "connect", url = Server.Url, policy = "Basic256Sha256", identity = new { user = "keg", password = "washer" } }))!.AsObject();
        foreach (var (name, value) in JsonNode.Parse(System.Text.Json.JsonSerializer.Serialize(more ?? new { }))!.AsObject())
        {
            command[name] = value!.DeepClone();
        }

        return Client.DoAsync(command);
    }

    private async Task<long> SubscribeAsync(OurServer server, int items)
    {
        var nodes = Enumerable.Range(0, items).Select(i => server.Id($"V{i}").ToString());
        var answer = await Client.DoAsync(new { @do = "subscribe", nodes, counting = true, publishing = 50, sampling = 20, queue = 200 });
        Assert.All(answer["statuses"]!.AsArray(), status => Assert.Equal("Good", (string?)status));
        return (long)answer["id"]!;
    }

    private Task<JsonNode> ReportAsync(long id) => Client.DoAsync(new { @do = "report", id });

    private async Task<JsonNode> UntilAsync(long id, Func<JsonNode, bool> isSo)
    {
        JsonNode report = new JsonObject();
        await Poll.UntilAsync(async () => isSo(report = await ReportAsync(id)), () => report.ToJsonString());
        return report;
    }
}

/// <summary>Asks a peer again and again, for what it does not tell by itself.</summary>
internal static class Poll
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(50);

    public static Task UntilAsync(Func<Task<bool>> isSo, string what) => UntilAsync(isSo, () => what);

    public static async Task UntilAsync(Func<Task<bool>> isSo, Func<string> what)
    {
        var start = TimeProvider.System.GetTimestamp();
        while (!await isSo())
        {
            Assert.True(TimeProvider.System.GetElapsedTime(start) < Patience, $"not within {Patience}: {what()}");
            await Task.Delay(Pause, TimeProvider.System, TestContext.Current.CancellationToken);
        }
    }
}
