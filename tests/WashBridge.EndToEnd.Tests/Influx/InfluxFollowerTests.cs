using System.Text;
using System.Text.Json;
using WashBridge.Benchmarks.Influx;
using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;
using WashBridge.Forwarding;
using WashBridge.Tests.Forwarding;

namespace WashBridge.EndToEnd.Tests.Influx;

/// <summary>Against a real InfluxDB server: what is in the log is in the database, once, with its content.</summary>
public sealed class InfluxFollowerTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_event_is_read_back_once()
    {
        await using var plant = await Plant.StartAsync();
        var events = new WashDay(1, stations: 3).Events(12_000);
        plant.Add(events);
        await plant.ForwardAllAsync(plant.Native());
        await plant.AssertHoldsAsync(events);
    }

    [Fact]
    public async Task What_is_read_back_is_what_was_measured_and_judged()
    {
        await using var plant = await Plant.StartAsync();
        var events = new WashDay(2).Events(2_000);
        plant.Add(events);
        await plant.ForwardAllAsync(plant.Native());

        var drains = (await plant.RowsAsync("SELECT * FROM wash_drain")).ToDictionary(r => r["id"].GetString()!);
        foreach (var drain in events.OfType<DrainMeasured>())
        {
            var row = drains[drain.Id];
            Assert.Equal(drain.Drain.Time.Lower.TotalSeconds, row["lower_s"].GetDouble());
            Assert.Equal(drain.Drain.Time.Upper.TotalSeconds, row["upper_s"].GetDouble());
            Assert.Equal(drain.CycleId, row["cycle"].GetString());
            Assert.Equal($"{drain.Station}", row["station"].GetString());
            Assert.Equal(drain.Drain.Phase, row["phase"].GetString());
            Assert.Equal(1, row["dry"].GetInt64());
            Assert.Equal(drain.At.Latest.UnixMicroseconds, row["time"].GetInt64() / 1000);
            Assert.Equal(drain.At.Width.Ticks / TimeSpan.TicksPerMicrosecond, row["width_us"].GetInt64());
        }

        var kegs = (await plant.RowsAsync("SELECT * FROM wash_keg")).ToDictionary(r => r["id"].GetString()!);
        var requirements = (await plant.RowsAsync("SELECT * FROM wash_requirement")).ToLookup(r => r["id"].GetString()!);
        foreach (var judged in events.OfType<KegJudged>())
        {
            var row = kegs[judged.Id];
            Assert.Equal(judged.Verdict.KegId, row["keg"].GetString());
            Assert.Equal(judged.Verdict.Verdict == Verdict.Met ? 1 : 0, row["met"].GetInt64());
            Assert.Equal(judged.Verdict.Verdict == Verdict.NotMet ? 1 : 0, row["not_met"].GetInt64());
            Assert.Equal(judged.Verdict.Verdict == Verdict.NotProven ? 1 : 0, row["not_proven"].GetInt64());
            var dwell = requirements[judged.Id].Single(r => r["requirement"].GetString() == "dwell");
            Assert.Equal(judged.Verdict.Results[0].Evidence, dwell["evidence"].GetString());
            Assert.Equal(judged.Verdict.Results[0].Lower, dwell["lower"].GetDouble());
            Assert.Equal(2, requirements[judged.Id].Count());
        }
    }

    /// <summary>Flags are integers so that this works: a mean of a boolean is an error in InfluxQL.</summary>
    [Fact]
    public async Task A_rate_is_the_mean_of_a_flag()
    {
        await using var plant = await Plant.StartAsync();
        var events = new WashDay(3).Events(2_000);
        plant.Add(events);
        await plant.ForwardAllAsync(plant.Native());
        var expected = events.OfType<KegJudged>().Average(e => e.Verdict.Verdict == Verdict.NotProven ? 1.0 : 0.0);
        var row = Assert.Single(await plant.RowsAsync("SELECT mean(not_proven) FROM wash_keg"));
        Assert.Equal(expected, row["mean"].GetDouble(), 1e-9);
    }

    [Fact]
    public async Task Every_sample_is_read_back_once_with_its_value()
    {
        await using var plant = await Plant.StartAsync();
        var frames = new WashDay(4).Frames(count: 400, samplesEach: 30);
        plant.Signal.Publish(plant.Historian.AppendFrames(frames));
        var status = await plant.ForwardAllAsync(plant.Native() with { Samples = true });
        Assert.Equal(12_000, status.LinesDelivered);
        var rows = await plant.RowsAsync("SELECT * FROM wash_sample");
        var read = rows.ToDictionary(r => (r["signal"].GetString()!, r["station"].ValueKind == JsonValueKind.Null ? 0 : int.Parse(r["station"].GetString()!), r["time"].GetInt64() / 1000));
        Assert.Equal(12_000, read.Count);
        foreach (var sample in frames.SelectMany(f => f.Samples))
        {
            var row = read[(sample.Signal.Name, sample.Signal.Station, sample.At.Latest.UnixMicroseconds)];
            var field = sample.Signal.Type switch
            {
                Core.Signals.SignalType.Flag => "flag",
                Core.Signals.SignalType.Integer => "whole",
                _ => "value",
            };
            Assert.Equal(sample.Value.Number, row[field].GetDouble());
        }
    }

    [Fact]
    public async Task A_server_that_asks_who_is_there_is_told()
    {
        await using var plant = await Plant.StartAsync(authentication: true);
        var events = new WashDay(5).Events(500);
        plant.Add(events);
        await plant.ForwardAllAsync(plant.Native() with { User = InfluxServer.Admin, Secret = InfluxServer.Password });
        await plant.AssertHoldsAsync(events);
    }

    /// <summary>The 2.x write address, answered by nginx for the same server: database and retention policy in the bucket, user and password in the token.</summary>
    [Theory]
    [InlineData(null)]
    [InlineData("autogen")]
    public async Task The_address_of_2x_servers_takes_the_same_lines(string? policy)
    {
        await using var plant = await Plant.StartAsync(authentication: true);
        await using var proxy = await WriteAddressProxy.StartAsync(plant.Server.Url, Stop);
        var events = new WashDay(6).Events(6_000);
        plant.Add(events);
        await plant.ForwardAllAsync(plant.Native() with
        {
            Url = proxy.Url, Api = 2, Organisation = "north", RetentionPolicy = policy, User = InfluxServer.Admin, Secret = InfluxServer.Password,
        });
        await plant.AssertHoldsAsync(events);
    }

    [Fact]
    public async Task Lines_that_the_server_refuses_are_set_aside_with_its_reason_and_all_others_arrive()
    {
        await using var plant = await Plant.StartAsync();

        // Somebody else has written a number where the keg's id goes: every scan is now a type conflict.
        await plant.Server.WriteAsync(Plant.Database, "wash_scan,washer=other keg=1i 1930478400000000000", Stop);
        var events = new WashDay(7).Events(3_000);
        plant.Add(events);
        var status = await plant.ForwardAllAsync(plant.Native());

        var scans = events.OfType<KegScanned>().ToList();
        Assert.Equal(scans.Count, status.LinesSetAside);
        var entries = (await File.ReadAllLinesAsync(plant.SetAsidePath, Stop)).Select(l => JsonDocument.Parse(l).RootElement).ToList();
        Assert.Equal(scans.Select(s => s.Id), entries.Select(e => e.GetProperty("event").GetString()));
        Assert.All(entries, e => Assert.Contains("field type conflict", e.GetProperty("reason").GetString(), StringComparison.Ordinal));
        await plant.Server.QueryAsync("DROP MEASUREMENT wash_scan", Stop, Plant.Database);
        await plant.Server.WriteAsync(Plant.Database, string.Join('\n', entries.Select(e => e.GetProperty("line").GetString())), Stop);
        await plant.AssertHoldsAsync(events);
    }

    /// <summary>Whatever text the encoder accepts comes back from the server as it was; what it cannot express it refuses.</summary>
    [Fact]
    public async Task Text_of_any_kind_comes_back_as_it_was()
    {
        await using var plant = await Plant.StartAsync();
        var random = new Random(11);
        const string Alphabet = "ab,= \"\\#'\tü🍭\n0";
        var texts = Enumerable.Range(0, 2000).Select(_ => string.Concat(Enumerable.Range(0, random.Next(1, 9)).Select(_ => Rune.GetRuneAt(Alphabet, Start(random.Next(Alphabet.Length)))))).ToList();
        var batch = new LineBatch();
        for (var i = 0; i < texts.Count; i++)
        {
            batch.Add(new LinePoint().Start("text").Tag("tag", texts[i]).Field("field", texts[i]).Field("key," + texts[i], 1), i + 1, new LineOrigin(i + 1, null));
        }

        Assert.InRange(batch.Count, 500, 1900);
        await plant.Server.WriteAsync(Plant.Database, batch.Text(0, batch.Count), Stop);
        var rows = await plant.RowsAsync("SELECT * FROM text");
        Assert.Equal(batch.Count, rows.Count);
        foreach (var row in rows)
        {
            var text = texts[row["time"].GetInt32() - 1];
            Assert.Equal(text, row["field"].GetString());
            Assert.Equal(text, row["tag"].GetString());
            Assert.Equal(1, row["key," + text].GetInt64());
        }

        static int Start(int index) => char.IsLowSurrogate(Alphabet[index]) ? index - 1 : index;
    }
}
