using System.Text.RegularExpressions;
using WashBridge.Tests.Forwarding;

namespace WashBridge.EndToEnd.Tests.Influx;

/// <summary>What <c>Forwarding/SERVERS.md</c> tells people to type works on a real server, and gives what it says.</summary>
public sealed partial class ServersPageTests
{
    private const string Database = "washers";

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Its_statements_set_a_server_up_and_its_hours_are_those_of_the_historian()
    {
        await using var plant = await Plant.StartAsync();
        var blocks = Blocks(await File.ReadAllTextAsync(Path.Combine(Repository.Root, "src/WashBridge/Forwarding/SERVERS.md"), Stop));
        Assert.Equal(3, blocks.Count);
        foreach (var statement in blocks[0].Concat(blocks[1]))
        {
            await plant.Server.QueryAsync(statement, Stop);
        }

        var frames = new WashDay(12).Frames(count: 3_000, samplesEach: 10);
        plant.Signal.Publish(plant.Historian.AppendFrames(frames));
        await plant.ForwardAllAsync(plant.Native() with { Bucket = Database, RetentionPolicy = "samples", Samples = true });
        await plant.Server.QueryAsync(Assert.Single(blocks[2]), Stop, Database);

        var rows = await plant.Server.RowsAsync(Database, "SELECT * FROM \"hourly\".\"wash_sample_hour\"", Stop);
        var signals = plant.Historian.Signals.Where(s => s.Type == Core.Signals.SignalType.Quantity).ToList();
        Assert.NotEmpty(signals);
        foreach (var signal in signals)
        {
            var hours = plant.Historian.ReadHourly(signal, frames[0].Read.Earliest - TimeSpan.FromHours(1), frames[^1].Read.Latest + TimeSpan.FromHours(1));
            var stored = rows.Where(r => r["signal"].GetString() == signal.Name && Station(r) == signal.Station).OrderBy(r => r["time"].GetInt64()).ToList();
            Assert.Equal(
                hours.Select(h => (h.Hour.UnixMicroseconds * 1000, h.Count, h.Minimum, h.Maximum)),
                stored.Select(r => (r["time"].GetInt64(), r["count"].GetInt32(), r["min"].GetDouble(), r["max"].GetDouble())));
            Assert.All(hours.Zip(stored), pair => Assert.Equal(pair.First.Mean, pair.Second["mean"].GetDouble(), 1e-6));
        }
    }

    private static int Station(IReadOnlyDictionary<string, System.Text.Json.JsonElement> row) => row.TryGetValue("station", out var station) && station.GetString() is { Length: > 0 } number ? int.Parse(number) : 0;

    private static IReadOnlyList<IReadOnlyList<string>> Blocks(string page) =>
        [.. Fences().Matches(page).Select(m => (IReadOnlyList<string>)m.Groups[1].Value.Split('\n', StringSplitOptions.RemoveEmptyEntries))];

    [GeneratedRegex("```influxql\n(.*?)```", RegexOptions.Singleline)]
    private static partial Regex Fences();
}
