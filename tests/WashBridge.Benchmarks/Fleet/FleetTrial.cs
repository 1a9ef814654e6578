using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using WashBridge.Analysing;
using WashBridge.Benchmarks.Influx;
using WashBridge.Core.Cycles;
using WashBridge.Historian;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>One bridge to be started.</summary>
/// <param name="Modbus">Washers that speak Modbus TCP.</param>
/// <param name="OpcUa">Washers that speak OPC UA.</param>
internal readonly record struct BridgeSize(int Modbus, int OpcUa)
{
    public int Washers => Modbus + OpcUa;
}

/// <summary>Simulated washers, bridges and one InfluxDB, each in a process of its own, at life speed.</summary>
internal sealed class FleetTrial : IAsyncDisposable
{
    private static readonly TimeSpan ScrapeEvery = TimeSpan.FromSeconds(15);

    private readonly string _folder;
    private readonly InfluxServer _influx;
    private readonly double _influxResident;
    private readonly Process _plant;
    private readonly List<int> _bareLoop;
    private readonly List<(FleetBridge Bridge, BridgeSize Size)> _bridges = [];
    private readonly List<TimeSpan> _ready = [];

    private FleetTrial(string folder, InfluxServer influx, Process plant, List<int> bareLoop) =>
        (_folder, _influx, _plant, _bareLoop, _influxResident) = (folder, influx, plant, bareLoop, ProcessFigures.Of(influx.ProcessId).Resident);

    private int Washers => _bridges.Sum(b => b.Size.Washers);

    /// <summary>Returns when every washer is read.</summary>
    /// <param name="sizes">The bridges.</param>
    /// <param name="samples">Whether InfluxDB gets samples too.</param>
    /// <param name="bare">Washers of the minimal poll loop.</param>
    /// <param name="state">What the analysis of every washer has learnt before, of the washer number 1; null: nothing.</param>
    public static async Task<FleetTrial> StartAsync(IReadOnlyList<BridgeSize> sizes, bool samples, int bare, string? state, CancellationToken cancellation)
    {
        var folder = Directory.CreateTempSubdirectory("washbridge-fleet-").FullName;
        var (modbus, opcUa) = (sizes.Sum(s => s.Modbus) + bare, sizes.Sum(s => s.OpcUa));
        var influx = await InfluxServer.StartAsync(cancellation);
        await influx.CreateDatabaseAsync("fleet", cancellation);
        var plant = Child("fleet-plant", $"{modbus + opcUa}", $"{opcUa}", folder);
        var ports = (await plant.StandardOutput.ReadLineAsync(cancellation))!.Split(' ').Select(p => int.Parse(p, CultureInfo.InvariantCulture)).ToList();

        // Those that speak OPC UA come last.
        var trial = new FleetTrial(folder, influx, plant, ports.GetRange(modbus - bare, bare));
        var (nextModbus, nextOpcUa) = (0, modbus);
        foreach (var size in sizes)
        {
            var washers = Enumerable.Range(nextModbus, size.Modbus).Select(i => (i + 1, ports[i], false)).Concat(Enumerable.Range(nextOpcUa, size.OpcUa).Select(i => (i + 1, ports[i], true))).ToList();
            (nextModbus, nextOpcUa) = (nextModbus + size.Modbus, nextOpcUa + size.OpcUa);
            var http = InfluxServer.FreePort();
            var site = new FleetSite($"bridge-{trial._bridges.Count + 1}", folder).Write(washers, http, influx.Url, samples);
            Learnt(site, washers.ConvertAll(w => FleetSite.WasherId(w.Item1)), state);
            trial._bridges.Add((FleetBridge.Start(site, size.Washers, http), size));

            // One after the other, so that each one's start is its own.
            trial._ready.Add(await trial._bridges[^1].Bridge.ReadyAsync(cancellation));
        }

        return trial;
    }

    public async Task<(CostFigures Costs, double PlantCores)> MeasureAsync(TimeSpan warmUp, TimeSpan window, CancellationToken cancellation)
    {
        using var bare = _bareLoop.Count > 0 ? Child(["fleet-bare", .. _bareLoop.Select(p => $"{p}")]) : null;
        await Task.Delay(warmUp, TimeProvider.System, cancellation);
        var lags = new double[_bridges.Count];
        var before = await ReadAsync(lags, cancellation);
        var (influxBefore, statsBefore, plantBefore) = (ProcessFigures.Of(_influx.ProcessId), await StatsAsync(cancellation), ProcessFigures.Of(_plant.Id));
        var bareBefore = await BareAsync(bare, cancellation);
        var clock = Stopwatch.StartNew();
        while (clock.Elapsed + ScrapeEvery < window)
        {
            await Task.Delay(ScrapeEvery, TimeProvider.System, cancellation);
            await ReadAsync(lags, cancellation);
        }

        await Task.Delay(window - clock.Elapsed, TimeProvider.System, cancellation);
        var after = await ReadAsync(lags, cancellation);
        var (influxAfter, statsAfter, plantAfter) = (ProcessFigures.Of(_influx.ProcessId), await StatsAsync(cancellation), ProcessFigures.Of(_plant.Id));
        var bareAfter = await BareAsync(bare, cancellation);
        var seconds = clock.Elapsed.TotalSeconds;
        if (bare is not null)
        {
            await EndAsync(bare);
        }

        var influx = new InfluxFigures(
            Washers,
            (influxAfter.Processor - influxBefore.Processor) / seconds,
            _influxResident,
            influxAfter.Resident,
            (influxAfter.Written - influxBefore.Written) / seconds,
            (statsAfter.Bytes - statsBefore.Bytes) / seconds,
            (statsAfter.Requests - statsBefore.Requests) / seconds);
        var costs = new CostFigures(
            seconds,
            [.. _bridges.Select((b, i) => Figures(b.Size, _ready[i], before[i], after[i], lags[i]))],
            (bareAfter.Processor - bareBefore.Processor) / (bareAfter.Reads - bareBefore.Reads),
            (bareAfter.Bytes - bareBefore.Bytes) / seconds / Math.Max(1, _bareLoop.Count),
            influx);
        return (costs, (plantAfter.Processor - plantBefore.Processor) / seconds);
    }

    /// <summary>Stops the bridges, and compares what is in their stores and in InfluxDB with what the washers ran.</summary>
    public async Task<(int True, int Recorded, int Forwarded, double StopSeconds)> CompareAsync(CancellationToken cancellation)
    {
        // What ended only just now may be on its way.
        var settled = TimeProvider.System.GetUtcNow() - TimeSpan.FromSeconds(10);
        var stops = await Task.WhenAll(_bridges.Select(async b =>
        {
            var clock = Stopwatch.StartNew();
            var code = await b.Bridge.StopAsync();
            if (code != 0)
            {
                Console.WriteLine($"{b.Bridge.Site.Id} was not done when its time to stop was over: exit code {code}");
            }

            return clock.Elapsed.TotalSeconds;
        }));
        var recorded = new HashSet<(string, long)>();
        foreach (var (bridge, _) in _bridges)
        {
            using var store = Historian.Historian.OpenReader(bridge.Site.Store);
            recorded.UnionWith(store.ReadEvents(new EventQuery { Kinds = ["cycle-ended"] }).Cast<CycleEnded>().Where(e => !e.Cycle.StartUnseen).Select(e => (e.Washer, e.Cycle.CycleCount ?? -1)));
        }

        // From number 2 on: the first may have begun before its washer was read.
        var truth = File.ReadLines(Path.Combine(_folder, FleetPlant.TruthFile)).Select(l => JsonDocument.Parse(l).RootElement)
            .Where(c => c.GetProperty("number").GetInt32() > 1 && c.GetProperty("end").GetProperty("at").GetDateTimeOffset() < settled)
            .Select(c => (c.GetProperty("washer").GetString()!, c.GetProperty("cycleCount").GetInt64())).Where(c => string.CompareOrdinal(c.Item1, FleetSite.WasherId(Washers)) <= 0).ToHashSet();
        var forwarded = (await _influx.RowsAsync("fleet", "SELECT washer, cycle_count FROM wash_cycle", cancellation)).Select(r => (r["washer"].GetString()!, r["cycle_count"].GetInt64())).ToHashSet();
        return (truth.Count, truth.Count(recorded.Contains), truth.Count(forwarded.Contains), stops.Max());
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var (bridge, _) in _bridges)
        {
            await bridge.StopAsync();
            bridge.Dispose();
        }

        await EndAsync(_plant);
        _plant.Dispose();
        await _influx.DisposeAsync();
        Directory.Delete(_folder, recursive: true);
    }

    private static BridgeFigures Figures(BridgeSize size, TimeSpan ready, BridgeReading before, BridgeReading after, double lag)
    {
        var seconds = Stopwatch.GetElapsedTime(before.At, after.At).TotalSeconds;
        double More(string name, string labels = "") => after.Sum(name, labels) - before.Sum(name, labels);
        double Mean(string name) => More(name + "_sum") / Math.Max(1, More(name + "_count"));
        return new BridgeFigures(
            size.Washers,
            size.Modbus == 0,
            ready.TotalSeconds,
            (after.Process.Processor - before.Process.Processor) / seconds,
            after.Process.Resident,
            after.Process.Threads,
            (after.Process.Written - before.Process.Written) / seconds,
            More("washbridge_washer_reads_total", "outcome=\"Done\"") / seconds,
            size.Modbus * FleetSite.ReadsPerSecond,
            More("washbridge_washer_reads_total", "outcome=\"Failed\""),
            More("washbridge_poll_overruns_total"),
            Mean("washbridge_poll_lateness_seconds"),
            Mean("washbridge_commit_delay_seconds"),
            More("washbridge_influx_lines_delivered_total") / seconds,
            lag,
            More("washbridge_cycles_total"));
    }

    /// <summary>Reads all bridges, as a scraper would every 15 s, and keeps the longest that any follower was behind.</summary>
    private async Task<List<BridgeReading>> ReadAsync(double[] lags, CancellationToken cancellation)
    {
        var readings = new List<BridgeReading>();
        foreach (var (bridge, _) in _bridges)
        {
            var reading = await bridge.ReadAsync(cancellation);
            lags[readings.Count] = Math.Max(lags[readings.Count], reading.Metrics.Where(m => m.Key.StartsWith("washbridge_follower_age_seconds", StringComparison.Ordinal)).Max(m => m.Value));
            readings.Add(reading);
        }

        return readings;
    }

    /// <summary>What the server counts of itself.</summary>
    private async Task<(double Bytes, double Requests)> StatsAsync(CancellationToken cancellation)
    {
        using var http = new HttpClient();
        using var json = JsonDocument.Parse(await http.GetStringAsync(new Uri(_influx.Url, "debug/vars"), cancellation));
        var values = json.RootElement.EnumerateObject().First(p => p.Name.StartsWith("httpd:", StringComparison.Ordinal)).Value.GetProperty("values");
        return (values.GetProperty("writeReqBytes").GetDouble(), values.GetProperty("writeReq").GetDouble());
    }

    private static async Task<(double Reads, double Bytes, double Processor)> BareAsync(Process? bare, CancellationToken cancellation)
    {
        if (bare is null)
        {
            return default;
        }

        await bare.StandardInput.WriteLineAsync("?".AsMemory(), cancellation);
        var said = (await bare.StandardOutput.ReadLineAsync(cancellation))!.Split(' ');
        return (double.Parse(said[0], CultureInfo.InvariantCulture), double.Parse(said[1], CultureInfo.InvariantCulture), ProcessFigures.Of(bare.Id).Processor);
    }

    /// <summary>As if the bridge had run for long: the analysis of every washer holds all that it ever will.</summary>
    private static void Learnt(FleetSite site, List<string> washers, string? state)
    {
        if (state is null)
        {
            return;
        }

        using var historian = Historian.Historian.Open(site.Store, new HistorianOptions(), TimeProvider.System);
        foreach (var washer in washers)
        {
            historian.AppendEvents([], new FollowerState(AnalysisFollower.RowOf(washer), 0, state.Replace(FleetSite.WasherId(1), washer, StringComparison.Ordinal)));
        }

        historian.AppendEvents([], new FollowerState(AnalysisFollower.Name, 0, $"washers {string.Join(' ', washers)}"));
    }

    private static Process Child(params string[] arguments) => ServiceBench.Start("dotnet", [Path.Combine(AppContext.BaseDirectory, "WashBridge.Benchmarks.dll"), .. arguments]);

    private static async Task EndAsync(Process child)
    {
        child.StandardInput.Close();
        await child.WaitForExitAsync(CancellationToken.None);
    }
}
