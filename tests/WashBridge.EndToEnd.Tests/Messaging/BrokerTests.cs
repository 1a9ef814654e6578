using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Demo;
using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Reporting;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using WashBridge.Tests.Forwarding;

namespace WashBridge.EndToEnd.Tests.Messaging;

/// <summary>Debian's mosquitto in between, and npm's sparkplug-payload as the reader.</summary>
public sealed class BrokerTests
{
    private static string Dbirth => $"DBIRTH/bridge/{Teller.Site.Washers[^1].Model.Washer}";

    [Fact]
    public async Task An_independent_host_reads_the_whole_life_of_a_session()
    {
        await using var broker = await Mosquitto.StartAsync();
        await using var host = await broker.ListenAsync();
        await using var teller = new Teller(broker);
        teller.Configuration = teller.Configuration with { StateTopics = true };
        teller.Begin();
        var births = (await Heard.UntilAsync(host, h => h.Topic.EndsWith(Dbirth, StringComparison.Ordinal))).Where(h => h.Topic.StartsWith("spBv1.0", StringComparison.Ordinal)).ToList();
        Assert.Equal(["NBIRTH/bridge", .. Teller.Site.Washers.Select(w => $"DBIRTH/bridge/{w.Model.Washer}")], births.Select(b => b.Kind));
        Assert.Equal(Enumerable.Range(0, births.Count), births.Select(b => b.Content.GetProperty("seq").GetInt32()));
        Assert.All(births, b => Assert.Equal((false, 0), (b.Retain, b.Qos)));
        Assert.Equal(("Int64", 0), (births[0]["bdSeq"].GetProperty("type").GetString(), births[0]["bdSeq"].GetProperty("value").GetInt32()));
        Assert.Equal(("Boolean", false), (births[0]["Node Control/Rebirth"].GetProperty("type").GetString(), births[0]["Node Control/Rebirth"].GetProperty("value").GetBoolean()));
        Assert.Equal("cycles", births[1]["Cycle/Count"].GetProperty("properties").GetProperty("engUnit").GetProperty("value").GetString());

        var events = new WashDay(5, Teller.Washer).Events(1);
        teller.Add(events);
        var told = await Heard.UntilAsync(host, h => h.Topic.EndsWith($"DDATA/bridge/{Teller.Washer}", StringComparison.Ordinal) && h.Metrics.Any(m => m.GetProperty("name").GetString() == "Stations/2/LastKeg/Verdict"));
        Assert.Contains(Heard.Values(told.Where(h => h.Topic.StartsWith("spBv1.0", StringComparison.Ordinal)), "/Phase"), v => v == ("caustic", false));
        var state = await Heard.UntilAsync(host, h => h.Topic.StartsWith("washbridge/", StringComparison.Ordinal));
        Assert.Equal(Words.Of(events.OfType<CycleEnded>().Last().Cycle.Outcome), state[^1].Content.GetProperty("json").GetProperty("metrics").GetProperty("Cycle/Outcome").GetString());

        await broker.AskAsync($"spBv1.0/brewery/DCMD/bridge/{Teller.Washer}", "Cycle/Running", true);
        await broker.AskAsync("spBv1.0/brewery/NCMD/bridge", "Node Control/Rebirth", true);
        var again = await Heard.UntilAsync(host, h => h.Topic.EndsWith(Dbirth, StringComparison.Ordinal));
        Assert.Equal(0, again.Single(h => h.Topic.EndsWith("NBIRTH/bridge", StringComparison.Ordinal))["bdSeq"].GetProperty("value").GetInt32());
        Assert.DoesNotContain(again, h => h.Topic.Contains("/DDATA/", StringComparison.Ordinal));

        await teller.StopAsync();
        var death = (await Heard.UntilAsync(host, h => h.Topic.EndsWith("NDEATH/bridge", StringComparison.Ordinal)))[^1];
        Assert.Equal(0, death["bdSeq"].GetProperty("value").GetInt32());
        Assert.False(death.Content.TryGetProperty("seq", out _));
        teller.Begin();
        var next = (await Heard.UntilAsync(host, h => h.Topic.StartsWith("spBv1.0", StringComparison.Ordinal) && h.Kind != "NCMD/bridge"))[^1];
        Assert.Equal(("NBIRTH/bridge", 1), (next.Kind, next["bdSeq"].GetProperty("value").GetInt32()));
    }

    /// <summary>The host says that it is online once it listens: what nobody hears at QoS 0 is gone, and that is what a primary host is for.</summary>
    [Fact]
    public async Task Nothing_is_lost_and_nothing_is_told_twice_when_the_broker_is_killed_again_and_again()
    {
        const int Kills = 4;
        await using var broker = await Mosquitto.StartAsync();
        await using var teller = new Teller(broker);
        teller.Configuration = teller.Configuration with { PrimaryHost = "plant-host" };
        teller.Begin();
        var events = new WashDay(6, Teller.Washer).Events(3000);
        var parts = events.Chunk((events.Count / (2 * (Kills + 1))) + 1).ToList();
        var heard = new List<Heard>();
        for (var kill = 0; kill <= Kills; kill++)
        {
            await using var host = await broker.ListenAsync();
            await broker.RetainAsync("spBv1.0/STATE/plant-host", $$"""{"online":true,"timestamp":{{kill}}}""");
            heard.AddRange(await Heard.UntilAsync(host, h => h.Topic.EndsWith(Dbirth, StringComparison.Ordinal)));
            teller.Add(parts[2 * kill]);
            await HearAsync(host, [.. parts.Take((2 * kill) + 1).SelectMany(p => p)]);
            await broker.KillAsync();
            teller.Add(parts[(2 * kill) + 1]);
            Assert.False((await teller.FailAsync()).NeedsAction);
            await broker.StartAgainAsync();
        }

        await using var last = await broker.ListenAsync();
        await broker.RetainAsync("spBv1.0/STATE/plant-host", """{"online":true,"timestamp":9}""");
        await HearAsync(last, events);
        var kegs = Heard.Values(heard, "/KegId").ToList();
        Assert.Equal(KegsOf(events).Order(StringComparer.Ordinal), kegs.Select(k => k.Value).Order(StringComparer.Ordinal));
        Assert.Superset(KegsOf(parts.Where((_, i) => i % 2 == 1).SelectMany(p => p)).ToHashSet(), kegs.Where(k => k.IsHistorical).Select(k => k.Value).ToHashSet());
        Assert.Contains(kegs, k => !k.IsHistorical);

        async Task HearAsync(PeerProcess host, IReadOnlyList<WashEvent> told)
        {
            while (KegsOf(told).Except(Heard.Values(heard, "/KegId").Select(k => k.Value)).Any())
            {
                heard.Add(await Heard.NextAsync(host));
            }
        }
    }

    [Fact]
    public async Task A_wrong_password_is_refused_and_said_and_the_right_one_lets_in()
    {
        await using var broker = await Mosquitto.StartWithPasswordAsync();
        await using var host = await broker.ListenAsync("-u", "bridge", "-P", "right");
        await using var teller = new Teller(broker);
        teller.Configuration = teller.Configuration with { User = "bridge", Secret = "wrong" };
        teller.Begin();
        var condition = await teller.FailAsync();
        Assert.True(condition.NeedsAction);
        Assert.Contains("refuses the connection: NotAuthorized", condition.Reason, StringComparison.Ordinal);
        await teller.StopAsync();

        teller.Configuration = teller.Configuration with { Secret = "right" };
        teller.Begin();
        Assert.Equal("NBIRTH/bridge", (await Heard.NextAsync(host)).Kind);
    }

    [Fact]
    public async Task TLS_lets_nobody_in_but_those_who_trust_each_other_by_name()
    {
        using var authority = new TrialAuthority();
        using var other = new TrialAuthority();
        await using var broker = await Mosquitto.StartWithTlsAsync(authority);
        var right = new MqttConfiguration
        {
            Id = "plant", Host = "localhost", Port = broker.Port, Tls = true, Group = "brewery", EdgeNode = "bridge", Authorities = authority.Trusted, Certificate = [authority.Issue("bridge")],
        };
        Assert.Null(await FailureAsync(right));
        Assert.Contains("TLS failed", await FailureAsync(right with { Authorities = [] }), StringComparison.Ordinal);
        Assert.Contains("TLS failed", await FailureAsync(right with { Authorities = other.Trusted }), StringComparison.Ordinal);
        Assert.Contains("TLS failed", await FailureAsync(right with { Host = "127.0.0.1" }), StringComparison.Ordinal);
        Assert.NotNull(await FailureAsync(right with { Certificate = [] }));
        Assert.NotNull(await FailureAsync(right with { Certificate = [other.Issue("bridge")] }));
        Assert.NotNull(await FailureAsync(right with { Tls = false }));
    }

    /// <summary>The service as its users start it: the check, a kill, after which the broker speaks in its name, and an end as meant.</summary>
    [Fact]
    public async Task A_service_that_is_killed_is_declared_dead_by_the_broker()
    {
        var deadline = new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;
        using var folder = new TemporaryFolder();
        await using var washers = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(5, TimeProvider.System.GetUtcNow()));
        await using var broker = await Mosquitto.StartAsync();
        var site = DemoSite.Write(folder, washers);
        await File.AppendAllTextAsync(site, $"mqtt:\n  - {{id: plant, url: \"mqtt://localhost:{broker.Port}\", group: brewery, edge-node: bridge}}\n", deadline);
        var check = await ProgramProcess.RunAsync(deadline, "check", site);
        Assert.Contains($"mqtt plant: mqtt://localhost:{broker.Port} lets us in without a user; Sparkplug group brewery, edge node bridge", check.Output, StringComparison.Ordinal);

        await using var host = await broker.ListenAsync();
        for (var session = 0; session < 2; session++)
        {
            await using var service = ProgramProcess.Start("run", site);
            var heard = await Heard.UntilAsync(host, h => h.Kind.StartsWith("DDATA/", StringComparison.Ordinal));
            Assert.Equal((0, session), (heard.Count(h => h.Kind == "NDEATH/bridge"), heard[0]["bdSeq"].GetProperty("value").GetInt32()));
            if (session == 0)
            {
                await service.KillAsync();
            }
            else
            {
                service.Interrupt();
                Assert.Equal(0, (await service.EndAsync(deadline)).Exit);
            }

            var death = (await Heard.UntilAsync(host, h => h.Kind == "NDEATH/bridge"))[^1];
            Assert.Equal((session, 1, false), (death["bdSeq"].GetProperty("value").GetInt32(), death.Qos, death.Retain));
        }

        await broker.KillAsync();
        check = await ProgramProcess.RunAsync(deadline, "check", site);
        Assert.Equal(2, check.Exit);
        Assert.Contains($"mqtt plant: mqtt://localhost:{broker.Port} is not reached", check.Output, StringComparison.Ordinal);
    }

    private static IEnumerable<string> KegsOf(IEnumerable<WashEvent> events) => events.OfType<KegJudged>().Select(k => k.Verdict.KegId);

    private static async Task<string?> FailureAsync(MqttConfiguration broker) => (await MqttProbe.ProbeAsync(broker, TestContext.Current.CancellationToken)).Failure;
}
