using System.Text;
using System.Text.Json;
using WashBridge.Core.Verdicts;
using WashBridge.Messaging;
using WashBridge.Tests.Forwarding;

namespace WashBridge.Tests.Messaging;

/// <summary>Clauses are those of Sparkplug 3.0.0.</summary>
public sealed class MqttFollowerTests
{
    [Fact]
    public async Task A_session_begins_with_its_will_and_the_birth_certificates_of_all_there_is()
    {
        await using var telling = new Telling().Begin();
        await telling.Broker.SeeAsync("DBIRTH/bridge-1/w2");
        var will = SentMessage.Read(Assert.Single(telling.Broker.Wills));
        Assert.Equal(("spBv1.0/brewery/NDEATH/bridge-1", true, false, null), (will.Topic, will.AtLeastOnce, will.Retain, will.Sequence));
        Assert.Equal(["spBv1.0/brewery/NCMD/bridge-1", "spBv1.0/brewery/DCMD/bridge-1/+"], telling.Broker.Subscriptions);

        var births = telling.Broker.Taken;
        Assert.Equal([("NBIRTH/bridge-1", 0UL), ("DBIRTH/bridge-1/w1", 1UL), ("DBIRTH/bridge-1/w2", 2UL)], births.Select(b => (b.Kind, b.Sequence!.Value)));
        Assert.All(births, b => Assert.False(b.AtLeastOnce || b.Retain));
        Assert.Equal(will["bdSeq"].Value, births[0]["bdSeq"].Value);

        // 6.4.20, and 5.10: it has no alias, because who asks for a rebirth may not know it.
        Assert.Equal((false, 11UL, null), (births[0]["Node Control/Rebirth"].Value, births[0]["Node Control/Rebirth"].Type, births[0]["Node Control/Rebirth"].Alias));
        var metrics = births.SelectMany(b => b.Metrics).ToList();
        Assert.All(metrics, m => Assert.NotNull(m.Type));
        Assert.All(metrics, m => Assert.NotNull(m.Name));
        var aliases = metrics.Where(m => m.Name is not ("bdSeq" or "Node Control/Rebirth")).Select(m => m.Alias).ToList();
        Assert.DoesNotContain(null, aliases);
        Assert.Equal(aliases.Count, aliases.Distinct().Count());
    }

    [Fact]
    public async Task What_happens_is_told_by_alias_with_its_own_time_and_numbers_that_grow_by_one()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1, verdict: Verdict.NotMet));
        await telling.TellAsync(Telling.Keg(2, washer: "w2"));
        var sent = telling.Broker.Taken;
        Assert.Equal(["DDATA/bridge-1/w1", "DDATA/bridge-1/w2"], sent.Skip(3).Select(m => m.Kind));
        Assert.Equal([3UL, 4UL], sent.Skip(3).Select(m => m.Sequence!.Value));
        var names = Names(sent);
        var told = sent[3].Metrics.ToDictionary(m => names[m.Alias!.Value], m => m.Value);
        Assert.Equal(
            ("K-1", "w1-1", "standard version 3", "dwell: held 44 s of 45 s", "not met"),
            (told["w1/Stations/1/LastKeg/KegId"], told["w1/Stations/1/LastKeg/CycleId"], told["w1/Stations/1/LastKeg/Recipe"], told["w1/Stations/1/LastKeg/Reasons"], told["w1/Stations/1/LastKeg/Verdict"]));
        Assert.All(sent[3].Metrics, m => Assert.Equal((null, null, false, Telling.Milliseconds(1)), (m.Name, m.Type, m.IsHistorical, m.At)));
    }

    [Fact]
    public async Task What_is_published_and_what_fails_is_counted_and_how_it_stands_is_told()
    {
        using var counts = new Counts("mqtt/counted");
        await using var telling = new Telling { Configuration = new() { Id = "counted", Host = "broker.example", Port = 1883, Group = "brewery", EdgeNode = "bridge-1", StateTopics = true } };
        telling.Broker.Refusal = new MqttLinkException(MqttFailure.Unauthorised, "refused");
        telling.Begin();
        var wait = await telling.Time.NextWaitAsync(except: telling.Options.Heartbeat);
        Assert.Equal((false, 1), (telling.Follower.Status.IsOnline, counts["washbridge.mqtt.failures", "Unauthorised"]));

        telling.Broker.Refusal = null;
        telling.Time.Advance(wait);
        await telling.Broker.SeeAsync("DBIRTH/bridge-1/w2");
        await telling.TellAsync(Telling.Keg(1));
        Assert.Equal((true, 0), (telling.Follower.Status.IsOnline, telling.Follower.Status.Held));
        Assert.Equal([1, 2, 1, 3], new[] { "NBIRTH", "DBIRTH", "DDATA", "STATE" }.Select(k => counts["washbridge.mqtt.messages", k]));

        telling.Broker.GoDown();
        telling.Add(Telling.Keg(2), Telling.Keg(3));
        await telling.PassWaitAsync();
        Assert.Equal((false, true), (telling.Follower.Status.IsOnline, counts["washbridge.mqtt.failures", "Unreachable"] > 0));
    }

    [Fact]
    public async Task What_did_not_change_is_not_told_again()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1));
        await telling.TellAsync(Telling.Keg(2));
        var names = Names(telling.Broker.Taken);
        Assert.Equal(["Stations/1/LastKeg/KegId", "Stations/1/LastKeg/CycleId", "Data/AsOf"], telling.Broker.Taken[^1].Metrics.Select(m => names[m.Alias!.Value]["w1/".Length..]));
    }

    [Fact]
    public async Task What_was_missed_is_told_as_history_in_order_after_certificates_that_tell_the_present()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1));
        telling.Broker.GoDown();
        telling.Add([.. Enumerable.Range(2, 1200).Select(i => Telling.Keg(i))]);
        await telling.PassWaitAsync();
        telling.Broker.Refusal = null;
        var before = telling.Broker.Taken.Count;
        await telling.PassWaitAsync();
        await telling.Broker.SeeAsync(all => KegsOf(all.Skip(before), historical: true).Count == 1200);
        await telling.TellAsync(Telling.Keg(1202));

        var sent = telling.Broker.Taken.Skip(before).ToList();
        Assert.Equal("K-1201", sent.Single(m => m.Kind == "DBIRTH/bridge-1/w1")["Stations/1/LastKeg/KegId"].Value);
        Assert.Equal(Enumerable.Range(2, 1200).Select(i => ($"K-{i}", Telling.Milliseconds(i))), KegsOf(sent, historical: true));
        Assert.Equal([("K-1202", Telling.Milliseconds(1202))], KegsOf(sent, historical: false));
        Assert.Equal(Enumerable.Range(0, sent.Count).Select(i => (ulong)(i % 256)), sent.Select(m => m.Sequence!.Value));
    }

    /// <summary>QoS 0 has no receipt: only the answer to a ping says that it came.</summary>
    [Fact]
    public async Task What_the_broker_never_confirmed_is_told_again()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1));
        telling.Broker.DownAtConfirmation = 0;
        telling.Add(Telling.Keg(2));
        await telling.PassWaitAsync();
        telling.Broker.Refusal = null;
        await telling.PassWaitAsync();
        await telling.Broker.SeeAsync(all => KegsOf(all, historical: true).Count == 1);
        Assert.Equal([("K-2", Telling.Milliseconds(2))], KegsOf(telling.Broker.Taken, historical: true));
    }

    [Fact]
    public async Task What_happened_while_the_service_was_stopped_is_told_as_history_and_nothing_twice()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1));
        await telling.StopAsync();
        telling.Add(Telling.Keg(2), Telling.Keg(3));
        telling.Begin();
        await telling.Broker.SeeAsync(all => KegsOf(all, historical: true).Count >= 2);
        await telling.TellAsync(Telling.Keg(4));
        Assert.Equal(["K-1", "K-4"], KegsOf(telling.Broker.Taken, historical: false).Select(k => k.Keg));
        Assert.Equal(["K-2", "K-3"], KegsOf(telling.Broker.Taken, historical: true).Select(k => k.Keg));
    }

    [Fact]
    public async Task A_follower_that_is_new_begins_with_the_present()
    {
        await using var telling = new Telling();
        telling.Add(Telling.Keg(1), Telling.Keg(2, verdict: Verdict.NotProven));
        telling.Begin();
        await telling.TellAsync(Telling.Keg(3));
        var birth = telling.Broker.Taken.Single(m => m.Kind == "DBIRTH/bridge-1/w1");
        Assert.Equal(("K-2", "not proven"), (birth["Stations/1/LastKeg/KegId"].Value, birth["Stations/1/LastKeg/Verdict"].Value));
        Assert.Empty(KegsOf(telling.Broker.Taken, historical: true));
    }

    [Fact]
    public async Task A_washer_that_is_not_read_dies_and_what_happened_to_it_is_told_when_it_lives_again_even_after_a_restart()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1), Telling.Lost(2));
        await telling.Broker.SeeAsync("DDEATH/bridge-1/w1");
        Assert.Equal(["DDATA/bridge-1/w1", "DDEATH/bridge-1/w1"], telling.Broker.Taken.Skip(3).Select(m => m.Kind));
        await telling.TellAsync(Telling.Keg(3), Telling.Keg(4, washer: "w2"));
        Assert.Equal(["DDATA/bridge-1/w2"], telling.Broker.Taken.Skip(5).Select(m => m.Kind));

        await telling.StopAsync();
        telling.Begin();
        await telling.Broker.SeeAsync("DBIRTH/bridge-1/w2", 2);
        Assert.Single(telling.Broker.Taken, m => m.Kind == "DBIRTH/bridge-1/w1");
        await telling.TellAsync(Telling.Keg(5), Telling.Back(6), Telling.Keg(7));
        await telling.Broker.SeeAsync(all => KegsOf(all, historical: false).Count == 3);
        Assert.Equal(["K-3", "K-5"], KegsOf(telling.Broker.Taken, historical: true).Select(k => k.Keg));
        Assert.Equal(["K-1", "K-4", "K-7"], KegsOf(telling.Broker.Taken, historical: false).Select(k => k.Keg));
        Assert.Equal("K-5", telling.Broker.Taken.Last(m => m.Kind == "DBIRTH/bridge-1/w1")["Stations/1/LastKeg/KegId"].Value);
    }

    [Fact]
    public async Task A_washer_lives_while_only_signals_outside_its_sequence_are_lost()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Lost(1, group: 1));
        Assert.DoesNotContain(telling.Broker.Taken, m => m.Kind == "DDEATH/bridge-1/w1");
        var names = Names(telling.Broker.Taken);
        Assert.Contains(telling.Broker.Taken[^1].Metrics, m => names[m.Alias!.Value] == "w1/Alarms/ConnectionLost" && m.Value is true);
    }

    [Fact]
    public async Task A_rebirth_is_the_only_thing_that_can_be_asked_for()
    {
        await using var telling = new Telling().Begin();
        await telling.TellAsync(Telling.Keg(1));
        telling.Broker.Say("spBv1.0/brewery/DCMD/bridge-1/w1", Command("Node Control/Rebirth", true));
        telling.Broker.Say("spBv1.0/brewery/NCMD/bridge-1", Command("Node Control/Reboot", true));
        telling.Broker.Say("spBv1.0/brewery/NCMD/bridge-1", Command("Node Control/Rebirth", false));
        telling.Broker.Say("spBv1.0/brewery/NCMD/bridge-1", [0xff, 0xff]);
        await telling.TellAsync(Telling.Keg(2));
        Assert.Single(telling.Broker.Taken, m => m.Kind == "NBIRTH/bridge-1");

        // Of four the first, second and fourth are told.
        Assert.Equal(3, telling.Log.Of(3206).Count);
        Assert.Contains("Node Control/Reboot", telling.Log.Of(3206)[1].Text, StringComparison.Ordinal);

        telling.Broker.Say("spBv1.0/brewery/NCMD/bridge-1", Command("Node Control/Rebirth", true));
        await telling.Broker.SeeAsync(all => all.Count(m => m.Kind == "DBIRTH/bridge-1/w2") == 2 || telling.Log.Of(3205).Count == 1);
        await telling.TellAsync(Telling.Keg(3));
        var births = telling.Broker.Taken.Where(m => m.Kind == "NBIRTH/bridge-1").ToList();
        Assert.Equal([0UL, 0UL], births.Select(b => b.Sequence!.Value));
        Assert.Equal(births[0]["bdSeq"].Value, births[1]["bdSeq"].Value);
        Assert.Equal(["NBIRTH/bridge-1", "DBIRTH/bridge-1/w1", "DBIRTH/bridge-1/w2", "DDATA/bridge-1/w1"], telling.Broker.Taken.TakeLast(4).Select(m => m.Kind));
    }

    [Fact]
    public async Task Every_connection_has_the_next_number_and_after_255_comes_0()
    {
        await using var telling = new Telling();
        for (var i = 0; i < 258; i++)
        {
            telling.Begin();
            await telling.Broker.SeeAsync("NBIRTH/bridge-1", i + 1);
            await telling.StopAsync();
        }

        Assert.Equal(Enumerable.Range(0, 258).Select(i => (object)(long)(i % 256)), telling.Broker.Wills.Select(w => SentMessage.Read(w)["bdSeq"].Value));
    }

    [Fact]
    public async Task An_end_as_meant_is_told_before_the_connection_is_closed()
    {
        await using var telling = new Telling().Begin();
        await telling.Broker.SeeAsync("DBIRTH/bridge-1/w2");
        await telling.StopAsync();
        Assert.Equal("NDEATH/bridge-1", telling.Broker.Taken[^1].Kind);
        Assert.Null(telling.Broker.Taken[^1].Sequence);
        Assert.Equal(1, telling.Broker.Disconnects);
    }

    /// <summary>5.4 and 5.5.</summary>
    [Fact]
    public async Task Data_is_held_while_the_primary_host_is_not_online()
    {
        await using var telling = new Telling();
        telling.Configuration = telling.Configuration with { PrimaryHost = "plant-host" };
        telling.Broker.Retained["spBv1.0/STATE/plant-host"] = State(online: false, 1000);
        telling.Begin();
        while (telling.Log.Of(3207).Count == 0)
        {
            await Task.Yield();
        }

        telling.Add(Telling.Keg(1));
        telling.Broker.Say("spBv1.0/STATE/plant-host", State(online: true, 999));
        Assert.Empty(telling.Broker.Taken);
        Assert.Single(telling.Log.Of(3210));
        telling.Broker.Say("spBv1.0/STATE/plant-host", State(online: true, 1000));
        await telling.Broker.SeeAsync(all => KegsOf(all, historical: true).Count == 1);

        telling.Broker.Retained["spBv1.0/STATE/plant-host"] = State(online: false, 1001);
        telling.Broker.Say("spBv1.0/STATE/plant-host", State(online: false, 1001));
        await telling.Broker.SeeAsync("NDEATH/bridge-1");
        while (telling.Log.Of(3207).Count == 1)
        {
            await Task.Yield();
        }

        telling.Add(Telling.Keg(2));
        telling.Broker.Say("spBv1.0/STATE/plant-host", State(online: true, 1002));
        await telling.Broker.SeeAsync(all => KegsOf(all, historical: true).Count == 2);
        Assert.Equal(["K-1", "K-2"], KegsOf(telling.Broker.Taken, historical: true).Select(k => k.Keg));
        Assert.Equal(2, telling.Broker.Wills.Count);
        Assert.Equal(1, telling.Broker.Disconnects);
    }

    [Fact]
    public async Task What_needs_a_person_is_an_error_that_is_told_once()
    {
        await using var telling = new Telling();
        telling.Broker.Refusal = new MqttLinkException(MqttFailure.Unauthorised, "NotAuthorized");
        telling.Begin();
        await telling.PassWaitAsync();
        await telling.PassWaitAsync();
        await telling.Time.NextWaitAsync(telling.Options.Heartbeat);
        Assert.Equal(3, telling.Follower.Status.Condition!.Attempts);
        Assert.True(telling.Follower.Status.Condition.NeedsAction);
        Assert.Single(telling.Log.Of(3203));
        Assert.Equal(2, telling.Log.Of(3209).Count);
    }

    [Fact]
    public async Task Each_washers_state_is_kept_at_the_broker_where_the_site_wants_it()
    {
        await using var telling = new Telling();
        telling.Configuration = telling.Configuration with { StateTopics = true };
        telling.Begin();
        await telling.TellAsync(Telling.Keg(1), Telling.Lost(2));
        await telling.Broker.SeeAsync("DDEATH/bridge-1/w1");
        var last = telling.Broker.States.Last(m => m.Topic == "washbridge/test-site/w1/state");
        Assert.True(last is { Retain: true, AtLeastOnce: true });
        using var json = JsonDocument.Parse(last.Payload);
        Assert.False(json.RootElement.GetProperty("read").GetBoolean());
        Assert.Equal("K-1", json.RootElement.GetProperty("metrics").GetProperty("Stations/1/LastKeg/KegId").GetString());
        Assert.Equal("2031-03-05T08:00:02Z", json.RootElement.GetProperty("metrics").GetProperty("Data/AsOf").GetString());
    }

    /// <summary>6.4.20: all metrics that are ever told stand in the birth certificate, and every value fits its type.</summary>
    [Fact]
    public async Task Every_kind_of_event_can_be_told_and_history_gives_the_same_as_the_present()
    {
        await using var telling = new Telling().Begin();
        await telling.Broker.SeeAsync("DBIRTH/bridge-1/w2");
        var events = new WashDay(3).Events(2000);
        foreach (var part in events.Chunk(300))
        {
            await telling.TellAsync(part);
        }

        await telling.Broker.SeeAsync(all => all.Count > 5);
        await telling.StopAsync();
        var names = Names(telling.Broker.Taken);
        var told = telling.Broker.Taken.SelectMany(m => m.Metrics).Where(m => m.Name is null).ToList();
        Assert.All(told, m => Assert.True(names.ContainsKey(m.Alias!.Value)));
        var metrics = new WasherMetrics(telling.Site.Washers[0]);
        foreach (var each in events)
        {
            metrics.Take(each);
        }

        telling.Begin();
        await telling.Broker.SeeAsync("DBIRTH/bridge-1/w2", 2);
        var birth = telling.Broker.Taken.Last(m => m.Kind == "DBIRTH/bridge-1/w1");
        Assert.Equal(metrics.Values.Select((v, i) => (metrics.Definitions[i].Name, v.Value as string)), metrics.Definitions.Select(d => (d.Name, birth[d.Name].Value as string)));
    }

    private static IReadOnlyDictionary<ulong, string> Names(IReadOnlyList<SentMessage> sent) => sent.Where(m => m.Kind.StartsWith("DBIRTH", StringComparison.Ordinal))
        .SelectMany(m => m.Metrics.Select(x => (Alias: x.Alias!.Value, Name: $"{m.Topic.Split('/')[^1]}/{x.Name}"))).DistinctBy(p => p.Alias).ToDictionary(p => p.Alias, p => p.Name);

    private static IReadOnlyList<(string Keg, ulong At)> KegsOf(IEnumerable<SentMessage> sent, bool historical) =>
        [.. sent.Where(m => m.Kind.StartsWith("DDATA", StringComparison.Ordinal)).SelectMany(m => m.Metrics).Where(m => m.IsHistorical == historical && m.Value is string text && text.StartsWith("K-", StringComparison.Ordinal)).Select(m => ((string)m.Value!, m.At))];

    private static byte[] Command(string name, bool value) => SparkplugPayload.Write([new SparkplugMetric(name, null, SparkplugType.Boolean, value, 1) { TellsType = true }], 1, null);

    private static byte[] State(bool online, long timestamp) => Encoding.UTF8.GetBytes($$"""{"online":{{(online ? "true" : "false")}},"timestamp":{{timestamp}}}""");
}
