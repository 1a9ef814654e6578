using System.Diagnostics;
using System.Net;
using System.Text;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Benchmarks.Influx;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Tests.Forwarding;

namespace WashBridge.Benchmarks;

/// <summary>
/// The follower, from a historian on disk to the server's last yes and the cursor behind it, beside the same lines rendered beforehand and posted
/// by nothing but HttpClient. Both write 5,000 lines a request, one at a time, into an empty database of the same server; the runs alternate.
/// </summary>
internal sealed class InfluxFollowerBench : IBench
{
    private const double Bar = 0.85;
    private const int LinesPerRequest = 5000;
    private const int Runs = 9;

    public string Name => "influx-follower";

    public string What => "InfluxDB follower against bare pre-rendered lines by HttpClient, same server, same run";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var frames = arguments.Length > 0 ? int.Parse(arguments[0]) : 20_000;
        var folder = Directory.CreateTempSubdirectory("washbridge-bench-").FullName;
        try
        {
            await using var server = await InfluxServer.StartAsync(cancellation);
            var store = Path.Combine(folder, "store.db");
            using var historian = new WatchedHistorian(Historian.Historian.Open(store, new HistorianOptions(), TimeProvider.System));
            Fill(historian, frames);
            var requests = Render(historian);
            var lines = requests.Sum(r => r.Lines);
            Console.WriteLine($"{lines:N0} lines in {requests.Count} requests, {requests.Sum(r => r.Body.Length) / 1e6:F1} MB; log of {historian.LastSequence:N0} entries; {Runs} runs each, alternating");

            var (bare, follower) = (new List<double>(), new List<double>());
            for (var run = 0; run <= Runs; run++)
            {
                // Who goes first changes, for the second meets what the first has left the server to tidy up.
                var first = run % 2 == 0 ? await PostAsync(server, $"bare{run}", requests, cancellation) : TimeSpan.Zero;
                var followed = await FollowAsync(server, $"follower{run}", historian, store, cancellation);
                var posted = run % 2 == 0 ? first : await PostAsync(server, $"bare{run}", requests, cancellation);
                await CheckAsync(server, [$"bare{run}", $"follower{run}"], cancellation);
                if (run == 0)
                {
                    continue; // Compiles both, and warms the server up.
                }

                bare.Add(lines / posted.TotalSeconds);
                follower.Add(lines / followed.TotalSeconds);
                Console.WriteLine($"  run {run}: bare {bare[^1],10:N0} lines/s   follower {follower[^1],10:N0} lines/s   ratio {follower[^1] / bare[^1]:F2}");
            }

            var ratio = Median(follower) / Median(bare);
            Console.WriteLine($"median: bare {Median(bare):N0} lines/s, follower {Median(follower):N0} lines/s, ratio {ratio:F2} (bar {Bar:F2}): {(ratio >= Bar ? "reached" : "missed")}");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static void Fill(WatchedHistorian historian, int frames)
    {
        var day = new WashDay(1);
        historian.AppendEvents(day.Events(5000));
        foreach (var second in day.Frames(frames, samplesEach: 60).Chunk(10))
        {
            historian.AppendFrames(second);
        }
    }

    /// <summary>What the follower will send, to the byte.</summary>
    private static List<(byte[] Body, int Lines)> Render(IHistorianReader historian)
    {
        var lines = new LogLines(historian, "north", samples: true, after: 0, LinesPerRequest);
        var batch = new LineBatch();
        var requests = new List<(byte[], int)>();
        do
        {
            lines.Fill(batch);
            if (batch.Count > 0)
            {
                requests.Add((Encoding.UTF8.GetBytes(batch.Text(0, batch.Count)), batch.Count));
            }
        }
        while (batch.IsFull);
        return requests;
    }

    private static async Task<TimeSpan> PostAsync(InfluxServer server, string database, List<(byte[] Body, int Lines)> requests, CancellationToken cancellation)
    {
        await server.CreateDatabaseAsync(database, cancellation);
        using var http = new HttpClient();
        var address = new Uri(server.Url, $"write?db={database}&precision=ns");
        var start = Stopwatch.GetTimestamp();
        foreach (var (body, _) in requests)
        {
            using var response = await http.PostAsync(address, new ByteArrayContent(body), cancellation);
            if (response.StatusCode != HttpStatusCode.NoContent)
            {
                throw new InvalidOperationException($"the server said {response.StatusCode}");
            }
        }

        return Stopwatch.GetElapsedTime(start);
    }

    private static async Task<TimeSpan> FollowAsync(InfluxServer server, string database, WatchedHistorian historian, string store, CancellationToken cancellation)
    {
        await server.CreateDatabaseAsync(database, cancellation);
        var configuration = new InfluxConfiguration { Id = database, Url = server.Url, Api = 1, Bucket = database, Samples = true };
        using var follower = new InfluxFollower(configuration, "north", historian, new HistorianSignal(), store, TimeProvider.System, NullLogger<InfluxFollower>.Instance);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        var start = Stopwatch.GetTimestamp();
        var running = follower.RunAsync(stop.Token);
        await historian.MovedToAsync(follower.Name, historian.LastSequence, cancellation);
        var took = Stopwatch.GetElapsedTime(start);
        await stop.CancelAsync();
        await running;
        return took;
    }

    /// <summary>Both must have stored the same, or their times mean nothing.</summary>
    private static async Task CheckAsync(InfluxServer server, string[] databases, CancellationToken cancellation)
    {
        var counts = new List<long>();
        foreach (var database in databases)
        {
            counts.Add((await server.RowsAsync(database, "SELECT count(quality) FROM wash_sample", cancellation))[0]["count"].GetInt64());
            await server.QueryAsync($"DROP DATABASE \"{database}\"", cancellation);
        }

        if (counts.Distinct().Count() != 1)
        {
            throw new InvalidOperationException($"stored different numbers of samples: {string.Join(", ", counts)}");
        }
    }

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);
}
