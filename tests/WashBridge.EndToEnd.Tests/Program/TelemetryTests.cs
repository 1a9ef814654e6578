using System.Globalization;
using System.Net;
using System.Text.Json;
using WashBridge.Core.Cycles;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>What the running service tells of itself: metrics, health, traces and its log.</summary>
public sealed class TelemetryTests : IAsyncDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly Collector _collector = new();
    private readonly int _port = DemoPages.Choose(0);
    private readonly HttpClient _client;

    public TelemetryTests() => _client = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{_port}") };

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    public async ValueTask DisposeAsync()
    {
        _client.Dispose();
        await _collector.DisposeAsync();
        _folder.Dispose();
    }

    [Fact]
    public async Task A_scrape_is_what_another_parser_reads_what_the_page_lists_and_what_the_historian_holds()
    {
        await using var washers = await WashersAsync();
        var site = DemoSite.Write(_folder, washers, _port);
        await using var service = ProgramProcess.Start("run", site);
        await DemoSite.ListensAsync(_port, Deadline);
        await JudgedAsync(4);

        var (families, held) = await SettledAsync();
        Assert.True(held.Values.Sum() >= 4);

        var page = Page();
        foreach (var family in families.Where(f => f.Name != "target_info"))
        {
            var row = Assert.Single(page, r => r.Family == family.Name);
            Assert.Equal((row.Kind, row.Meaning), (family.Type, family.Help));
            Assert.All(family.Samples, s => Assert.Subset(row.Labels, s.Labels.Keys.Where(l => l is not ("le" or "otel_scope_name")).ToHashSet()));
        }

        string[] expected = ["washbridge_poll_duration_seconds", "washbridge_commit_frames", "washbridge_follower_backlog", "washbridge_cycles", "dotnet_process_cpu_time_seconds"];
        Assert.Superset(expected.ToHashSet(), families.Select(f => f.Name).ToHashSet());
        Assert.Equal(DemoScenario.Washers.Count, families.Single(f => f.Name == "washbridge_washer_connected").Samples.Count(s => s.Value == "1.0"));

        using var ready = JsonDocument.Parse(await _client.GetStringAsync("/health/ready", Deadline));
        Assert.Contains(ready.RootElement.GetProperty("checks").EnumerateArray(), c => c.GetProperty("name").GetString() == "historian" && c.GetProperty("status").GetString() == "Healthy");
    }

    [Fact]
    public async Task A_collector_gets_metrics_and_the_way_of_polls_and_levels_of_the_JSON_log_change_while_it_runs()
    {
        await using var washers = await WashersAsync();
        var site = DemoSite.Write(_folder, washers, _port);
        var without = await File.ReadAllTextAsync(site, Deadline);
        await File.WriteAllTextAsync(site, $$"""
            {{without}}
            telemetry:
              otlp: {endpoint: "{{_collector.Address}}", protocol: http, every: 1 s, trace-share: 1}
            logging:
              format: json
              levels: {default: warning}

            """, Deadline);
        await using var service = ProgramProcess.Start("run", site);
        await DemoSite.ListensAsync(_port, Deadline);
        await _collector.SeeAsync("/v1/metrics", ["washbridge.poll.duration", "washbridge.commit.frames"], Deadline);
        await _collector.SeeAsync("/v1/traces", ["poll", "commit", "analyse"], Deadline);

        await File.WriteAllTextAsync(site, without + "\nlogging: {format: json, levels: {Microsoft.AspNetCore: information}}\n", Deadline);
        await service.SeeAsync("The levels of the log are now", Deadline);
        using (var answer = await _client.GetAsync("/health/live", Deadline))
        {
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        }

        await service.SeeAsync("/health/live", Deadline);
        service.Interrupt();
        var (exit, output, _) = await service.EndAsync(Deadline);
        Assert.Equal(0, exit);
        var lines = output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => JsonDocument.Parse(l).RootElement).ToList();
        var changed = Assert.Single(lines, l => l.GetProperty("EventId").GetInt32() == 2501);
        Assert.Equal("Warning", changed.GetProperty("LogLevel").GetString());
        Assert.All(lines.TakeWhile(l => l.GetProperty("EventId").GetInt32() != 2501), l => Assert.Contains(l.GetProperty("LogLevel").GetString(), new[] { "Warning", "Error", "Critical" }));
        Assert.EndsWith("Z", changed.GetProperty("Timestamp").GetString(), StringComparison.Ordinal);
    }

    private static Task<SimulationHost> WashersAsync() => SimulationHost.StartAsync(
        [.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));

    private async Task JudgedAsync(int verdicts)
    {
        var deadline = Deadline;
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(200));
        while (Held().Values.Sum() < verdicts && await look.WaitForNextTickAsync(deadline))
        {
        }
    }

    /// <summary>The service goes on while it is asked, so that a scrape and the file need not be of the same moment: asked again until nothing came between. A request is measured once it is over, so that the first scrape has none.</summary>
    private async Task<(List<Family> Families, SortedDictionary<string, long> Held)> SettledAsync()
    {
        var deadline = Deadline;
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(500));
        while (true)
        {
            var before = Held();
            var families = await ScrapeAsync(deadline);
            if (before.SequenceEqual(Held()) && before.SequenceEqual(Told(families)) && families.Exists(f => f.Name == "http_server_request_duration_seconds"))
            {
                return (families, before);
            }

            await look.WaitForNextTickAsync(deadline);
        }
    }

    private async Task<List<Family>> ScrapeAsync(CancellationToken deadline)
    {
        await File.WriteAllTextAsync(_folder["scrape.txt"], await _client.GetStringAsync("/metrics", deadline), deadline);
        var (exit, output) = await PeerProcess.RunAsync("/usr/bin/python3", "read_scrape.py", _folder["scrape.txt"]);
        Assert.True(exit == 0, output);
        return JsonSerializer.Deserialize<List<Family>>(output, JsonSerializerOptions.Web)!;
    }

    /// <summary>Verdicts and cycles as the store holds them, by washer.</summary>
    private SortedDictionary<string, long> Held()
    {
        using var reader = HistorianFile.OpenReader(DemoSite.Store(_folder));
        var keys = reader.ReadEvents(new EventQuery { Kinds = ["keg-judged", "cycle-ended"] }).Select(e => e switch
        {
            KegJudged judged => $"verdicts {judged.Washer} {judged.Verdict.Verdict}",
            CycleEnded ended => $"cycles {ended.Washer} {ended.Cycle.Outcome}",
            _ => throw new InvalidOperationException($"{e}"),
        });
        return new SortedDictionary<string, long>(keys.CountBy(k => k).ToDictionary(k => k.Key, k => (long)k.Value), StringComparer.Ordinal);
    }

    private static SortedDictionary<string, long> Told(List<Family> families) => new(
        families.Where(f => f.Name is "washbridge_verdicts" or "washbridge_cycles").SelectMany(f => f.Samples.Select(s => (
            Key: $"{f.Name["washbridge_".Length..]} {s.Labels["washer"]} {s.Labels[f.Name == "washbridge_cycles" ? "outcome" : "verdict"]}",
            Value: (long)double.Parse(s.Value, CultureInfo.InvariantCulture)))).ToDictionary(s => s.Key, s => s.Value),
        StringComparer.Ordinal);

    /// <summary>The table of METRICS.md, with names as the text format has them (without the end of counters, which the parser takes away).</summary>
    private static List<Row> Page() => [.. File.ReadLines(Path.Combine(Repository.Root, "src/WashBridge/Telemetry/METRICS.md"))
        .Where(l => l.StartsWith("| `", StringComparison.Ordinal))
        .Select(l => l.Split('|', StringSplitOptions.TrimEntries))
        .Select(c => new Row(
            c[1].Trim('`').Replace('.', '_') + c[3] switch { "`s`" => "_seconds", "`By`" => "_bytes", _ => "" },
            c[2],
            [.. c[4].Split(", ", StringSplitOptions.RemoveEmptyEntries).Select(x => x.Trim('`').Replace('.', '_'))],
            c[5]))];

    private sealed record Row(string Family, string Kind, HashSet<string> Labels, string Meaning);

    private sealed record Family(string Name, string Type, string Help, List<Sampled> Samples);

    private sealed record Sampled(string Name, Dictionary<string, string> Labels, string Value);
}
