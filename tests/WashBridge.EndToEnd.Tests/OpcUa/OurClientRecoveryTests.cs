using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>
/// Our client against a node-opcua server whose connections drop, or which is restarted, or behind a network that is cut: it samples again by itself,
/// nothing is missing where the server lived on, and where something may be missing it says so. The times until it samples again are printed.
/// </summary>
[Collection(OpcUaCollection.Name)]
public sealed class OurClientRecoveryTests(OpcUaLab lab, ITestOutputHelper log)
{
    private const int Items = 30;

    [Theory]
    [InlineData("drop fin")]
    [InlineData("drop rst")]
    [InlineData("drop stall")]
    [InlineData("suspend 1")]
    public async Task Nothing_is_missing_after_connections_are_lost(string trouble)
    {
        var server = await ServerAsync();
        await using var connection = Start(server.EndpointUrl);
        var watch = new Watch();
        await using var subscription = connection.Subscribe(OurClientDataTests.Counting(server, Items), watch);
        await watch.MoreAsync(5);
        for (var i = 0; i < 2; i++)
        {
            var before = watch.Continued;
            var start = TimeProvider.System.GetTimestamp();
            await server.DoAsync(trouble);
            await watch.UntilAsync(w => w.Continued > before, "going on");
            await watch.MoreAsync(1);
            Tell(trouble, start, watch);
        }

        await CaughtUpAsync(server, watch);
        Assert.True(watch is { Holes: 0, Restarted: 1, Continued: 2 }, $"{watch}\n{watch.Story}");
        Assert.Equal(1, connection.Counters.SessionsCreated);
        Assert.Equal(0, connection.Counters.MessagesLost);
    }

    [Fact]
    public async Task After_a_restart_of_the_server_it_samples_again_and_the_gap_is_told()
    {
        var server = await ServerAsync();
        await using var connection = Start(server.EndpointUrl);
        var watch = new Watch();
        await using var subscription = connection.Subscribe(OurClientDataTests.Counting(server, Items), watch);
        await watch.MoreAsync(5);
        await server.DoAsync("restart 1");
        var start = TimeProvider.System.GetTimestamp();
        await watch.UntilAsync(w => w.Restarted == 2, "a new subscription");
        await watch.MoreAsync(2);
        Tell("restart", start, watch);
        Assert.True(watch is { Holes: 0, Restarted: 2, Continued: 0 }, $"{watch}\n{watch.Story}");
        Assert.Equal(2, connection.Counters.SessionsCreated);
    }

    [Fact]
    public async Task After_the_server_was_killed_and_started_anew_it_samples_again_and_the_gap_is_told()
    {
        var options = new { variables = 30, bigFolder = 0, pki = lab.Folder("killed") };
        int port;
        Watch watch;
        UaConnection connection;
        await using (var first = await OpcUaPeerServer.StartAsync(options))
        {
            lab.Trust(first.CertificateFile);
            port = first.Port;
            connection = Start(first.EndpointUrl);
            watch = new Watch();
            connection.Subscribe(OurClientDataTests.Counting(first, Items), watch);
            await watch.MoreAsync(5);
            await first.KillAsync();
        }

        await using (connection)
        {
            await watch.UntilAsync(w => w.Interruptions > 0, "the interruption");
            await using var second = await OpcUaPeerServer.StartAsync(new { port, options.variables, options.bigFolder, options.pki });
            var start = TimeProvider.System.GetTimestamp();
            await watch.UntilAsync(w => w.Restarted == 2, "a new subscription");
            await watch.MoreAsync(2);
            Tell("kill", start, watch);
            Assert.Equal(0, watch.Holes);
        }
    }

    /// <summary>The first lasts longer than a request may, but not than the session and the subscription. WASHBRIDGE_LONG makes it a minute and more.</summary>
    [Fact]
    public async Task Nothing_is_missing_after_the_network_was_cut()
    {
        var isLong = Environment.GetEnvironmentVariable("WASHBRIDGE_LONG") is not null;
        var server = await ServerAsync();
        await using var line = new CuttableLine(server.Port);
        await using var connection = Start($"opc.tcp://127.0.0.1:{line.Port}/washbridge/tests");
        var watch = new Watch();
        await using var subscription = connection.Subscribe(OurClientDataTests.Counting(server, Items), watch);
        await watch.MoreAsync(5);
        line.Cut();
        await watch.UntilAsync(w => w.Interruptions == 1, "noticing the cut");
        if (isLong)
        {
            // Beyond the session's time-out at the other server, whose clock is its own.
            await Task.Delay(TimeSpan.FromSeconds(65), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        line.Mend();
        var start = TimeProvider.System.GetTimestamp();
        await watch.UntilAsync(w => w.Continued == 1, "going on");
        await watch.MoreAsync(2);
        Tell("cut", start, watch);
        await CaughtUpAsync(server, watch);
        Assert.True(watch is { Holes: 0, Restarted: 1 }, $"{watch}\n{watch.Story}");
        Assert.Equal(0, connection.Counters.MessagesLost);
    }

    /// <summary>Every item has told what the server counts to now. As values go up by one, all before it have been told too where there is no hole.</summary>
    private static async Task CaughtUpAsync(OpcUaPeerServer server, Watch watch)
    {
        var tick = (double)(await server.DoAsync("state"))["tick"]!;
        await watch.UntilAsync(w => w.Latest.Count == Items && w.Latest.Values.All(value => value.Value.TryGetNumber(out var number) && number >= tick), $"count {tick} of all items");
    }

    private UaConnection Start(string url) => UaConnection.Start(
        new UaClientOptions
        {
            Endpoint = new Uri(url),
            Policy = SecurityPolicy.Basic256Sha256,
            Mode = MessageSecurityMode.SignAndEncrypt,
            Identity = UserIdentity.UserName("keg", "washer"),
            Certificate = OpcUaLab.OurCertificate,
            Validator = lab.Validator,
            SessionTimeout = TimeSpan.FromMinutes(2),
        },
        null,
        TimeProvider.System);

    private void Tell(string trouble, long start, Watch watch) =>
        log.WriteLine($"{trouble}: {TimeProvider.System.GetElapsedTime(start).TotalMilliseconds:0} ms until it went on; {watch}");

    private Task<OpcUaPeerServer> ServerAsync() => lab.ServerAsync("troubled", new { variables = 30, bigFolder = 0 });
}
