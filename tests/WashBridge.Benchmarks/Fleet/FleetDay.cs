using System.Text.Json;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Analysing;
using WashBridge.Benchmarks.Influx;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Polling;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>
/// A day of washers that wash without a pause, in virtual time, through the pipeline into a historian that seals every hour and from there into InfluxDB: what is left on both
/// disks when all is packed. A window of real time says little of that.
/// </summary>
internal static class FleetDay
{
    private const int Washers = 2;

    /// <summary>The analysis remembers no more than some thousands of cycles: so many days fill it.</summary>
    private const int DaysToFill = 11;

    private static readonly TimeSpan Length = TimeSpan.FromHours(24);
    private static readonly TimeSpan Batch = TimeSpan.FromSeconds(10);
    private static readonly Instant Start = Instant.Parse("2031-03-05T00:00:00Z");

    /// <summary>The figures, and the full state of the first washer's analysis.</summary>
    public static async Task<(DayFigures Figures, string State)> MeasureAsync(string folder, CancellationToken cancellation)
    {
        var files = new FleetSite("day", folder).Write([.. Enumerable.Range(1, Washers).Select(n => (n, 502, false))], 8480, influx: null, samples: false);
        var loaded = ConfigurationLoader.Load(files.File);
        var site = loaded.Site ?? throw new InvalidOperationException(string.Join('\n', loaded.Problems));
        long sealedBytes, eventBytes;
        double frames, cycles, sealing;
        InfluxSide influx;
        using (var historian = Historian.Historian.Open(files.Store, new HistorianOptions(), TimeProvider.System))
        {
            (frames, sealing) = Wash(site, historian, cancellation);
            cycles = historian.ReadEvents(new EventQuery { Kinds = ["cycle-ended"] }).Count;
            influx = await ForwardAsync(site, historian, cancellation);
        }

        sealedBytes = new FileInfo(files.Store).Length;
        using (var historian = Historian.Historian.Open(files.Store, new HistorianOptions(), TimeProvider.System))
        {
            historian.Expire(Start + Length + Length, cancellation);
        }

        eventBytes = new FileInfo(files.Store).Length;
        using (var historian = Historian.Historian.Open(files.Store, new HistorianOptions(), TimeProvider.System))
        {
            var small = site.Washers.Sum(w => historian.ReadFollower(AnalysisFollower.RowOf(w.Model.Washer))!.State!.Length);
            var state = Fill(site, historian, cancellation);
            return (new DayFigures(
                cycles / Washers,
                frames / Washers,
                (double)(sealedBytes - small) / Washers,
                (double)(eventBytes - small) / Washers,
                state.Length,
                sealing / Washers,
                influx.EventLines / Washers,
                influx.EventBytes / Washers,
                influx.EventSeries / Washers,
                influx.SampleLines / Washers,
                influx.SampleBytes / Washers,
                influx.SampleSeries / Washers), state);
        }
    }

    private static (long Frames, double SealSeconds) Wash(Site site, Historian.Historian historian, CancellationToken cancellation)
    {
        var pollers = site.Washers.Select((w, i) => new VirtualPoller(new SimulatedWasher(FleetPlant.Options(i + 1)), new PollerOptions
        {
            Seed = i + 1,
            Start = Start,
            Groups = [.. w.Groups.Select(g => new VirtualPollGroup(g.Number, g.Every, g.Heartbeat))],
        })).ToList();
        var (analyst, analysis, frames) = (new Analyst(historian, site.Washers), new AnalysisFollower(historian, site, NullLogger.Instance), 0L);
        var sealing = TimeSpan.Zero;
        for (var at = Batch; at <= Length; at += Batch)
        {
            var batch = pollers.SelectMany(p => p.PollUntil(at)).OrderBy(f => f.Read.Latest).ToList();
            frames += batch.Count;
            historian.AppendFrames(batch);
            analyst.CatchUp();
            analysis.CatchUp(cancellation: cancellation);
            if (at.Ticks % TimeSpan.TicksPerHour == 0)
            {
                var before = Environment.CpuUsage.TotalTime;
                historian.Seal(Start + at, cancellation);
                sealing += Environment.CpuUsage.TotalTime - before;
            }
        }

        analyst.Save();
        analysis.Save();
        return (frames, sealing.TotalSeconds);
    }

    /// <summary>The day's figures again and again, dated later, until the analysis holds all that it ever will.</summary>
    private static string Fill(Site site, Historian.Historian historian, CancellationToken cancellation)
    {
        var washer = site.Washers[0].Model.Washer;
        var day = historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["cycle-measured"] }).Cast<CycleMeasured>().ToList();
        for (var n = 1; n < DaysToFill; n++)
        {
            var later = Length * n;
            historian.AppendEvents([.. day.Select(m => m with
            {
                Id = $"{m.Id}/{n}",
                CycleId = $"{m.CycleId}/{n}",
                At = new TimeBounds(m.At.Earliest + later, m.At.Latest + later),
                Features = m.Features with { Started = m.Features.Started + later, Ended = m.Features.Ended + later },
            })]);
        }

        var analysis = new AnalysisFollower(historian, site, NullLogger.Instance);
        analysis.CatchUp(cancellation: cancellation);
        analysis.Save();
        return historian.ReadFollower(AnalysisFollower.RowOf(washer))!.State!;
    }

    private static async Task<InfluxSide> ForwardAsync(Site site, Historian.Historian historian, CancellationToken cancellation)
    {
        await using var server = await InfluxServer.StartAsync(cancellation, compactAfter: TimeSpan.FromSeconds(1));
        var sides = new List<(double Lines, double Bytes, double Series)>();
        foreach (var samples in (bool[])[false, true])
        {
            var database = samples ? "samples" : "events";
            await server.CreateDatabaseAsync(database, cancellation);
            using var backfill = new Backfill(new InfluxConfiguration { Id = database, Url = server.Url, Api = 1, Bucket = database, Samples = samples }, site.Id, historian, TimeProvider.System, NullLogger.Instance);
            var sent = await backfill.RunAsync(Start, Start + Length + TimeSpan.FromHours(1), null, cancellation);
            sides.Add((sent.Lines, await PackedBytesAsync(server, database, cancellation), await SeriesAsync(server, database, cancellation)));
        }

        return new InfluxSide(sides[0].Lines, sides[0].Bytes, sides[0].Series, sides[1].Lines, sides[1].Bytes, sides[1].Series);
    }

    /// <summary>The answer has a count for each measurement.</summary>
    private static async Task<double> SeriesAsync(InfluxServer server, string database, CancellationToken cancellation)
    {
        using var json = JsonDocument.Parse(await server.QueryAsync($"SHOW SERIES EXACT CARDINALITY ON \"{database}\"", cancellation));
        return json.RootElement.GetProperty("results")[0].GetProperty("series").EnumerateArray().Sum(s => s.GetProperty("values")[0][0].GetDouble());
    }

    /// <summary>Waits until nothing is left in the write-ahead log and the files have stood still for a while.</summary>
    private static async Task<double> PackedBytesAsync(InfluxServer server, string database, CancellationToken cancellation)
    {
        var (bytes, still) = (0L, 0);
        while (still < 10)
        {
            await Task.Delay(TimeSpan.FromSeconds(1), TimeProvider.System, cancellation);
            var waiting = Bytes(Path.Combine(server.Folder, "wal", database), "*.wal");
            var now = Bytes(Path.Combine(server.Folder, "data", database), "*.tsm");
            still = now == bytes && waiting == 0 ? still + 1 : 0;
            bytes = now;
        }

        return bytes;
    }

    private static long Bytes(string folder, string pattern) => new DirectoryInfo(folder).EnumerateFiles(pattern, SearchOption.AllDirectories).Sum(f => f.Length);

    private sealed record InfluxSide(double EventLines, double EventBytes, double EventSeries, double SampleLines, double SampleBytes, double SampleSeries);
}
