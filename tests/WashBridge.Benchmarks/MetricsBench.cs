using System.Diagnostics;
using WashBridge.Demo;

namespace WashBridge.Benchmarks;

/// <summary>
/// What metrics cost: processor time of the service (<c>run</c>) with 20 washers of 60 tags at 10 Hz, in turn without metrics and with, scraped every second.
/// A scraper usually asks every 15 s or more.
/// </summary>
internal sealed class MetricsBench : IBench
{
    private const int Rounds = 3;

    public string Name => "metrics-cost";

    public string What => "processor time of the service with metrics, scraped every second, as a ratio to that without [seconds a part, 20 by default]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var length = TimeSpan.FromSeconds(arguments.Length > 0 ? int.Parse(arguments[0]) : 20);
        var folder = Directory.CreateTempSubdirectory("washbridge-bench-").FullName;
        using var farm = ServiceBench.Start("dotnet", Path.Combine(AppContext.BaseDirectory, "WashBridge.Benchmarks.dll"), "washer-farm", ServiceBench.Washers.ToString());
        try
        {
            var ports = (await farm.StandardOutput.ReadLineAsync(cancellation))!.Split(' ').Select(int.Parse).ToList();
            var site = ServiceBench.WriteSite(folder, ports);
            var plain = await File.ReadAllTextAsync(site, cancellation);
            var (without, with) = (TimeSpan.Zero, TimeSpan.Zero);
            for (var round = 1; round <= Rounds; round++)
            {
                var a = await MeasureAsync(site, plain, isMeasured: false, length, cancellation);
                var b = await MeasureAsync(site, plain, isMeasured: true, length, cancellation);
                Console.WriteLine($"round {round}: without {a / length:P1} of one core, with {b / length:P1}, ratio {b / a:0.00}");
                (without, with) = (without + a, with + b);
            }

            Console.WriteLine($"all rounds: ratio {with / without:0.00}");
        }
        finally
        {
            farm.StandardInput.Close();
            await farm.WaitForExitAsync(CancellationToken.None);
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<TimeSpan> MeasureAsync(string site, string plain, bool isMeasured, TimeSpan length, CancellationToken cancellation)
    {
        var port = DemoPages.Choose(0);
        await File.WriteAllTextAsync(site, $"{plain}\nhttp: {{port: {port}}}\ntelemetry: {{metrics: {(isMeasured ? "true" : "false")}}}\n", cancellation);
        using var service = ServiceBench.Start("dotnet", Path.Combine(AppContext.BaseDirectory, "washbridge.dll"), "run", site);
        _ = service.StandardOutput.ReadToEndAsync(CancellationToken.None);
        using var client = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{port}") };

        // What compiling the program costs is over by then.
        await Task.Delay(TimeSpan.FromSeconds(8), TimeProvider.System, cancellation);
        service.Refresh();
        var before = service.TotalProcessorTime;
        using (var end = CancellationTokenSource.CreateLinkedTokenSource(cancellation))
        {
            end.CancelAfter(length);
            await AskAsync(client, isMeasured ? "/metrics" : "/health/live", end.Token);
        }

        cancellation.ThrowIfCancellationRequested();
        service.Refresh();
        var used = service.TotalProcessorTime - before;
        using var interrupt = Process.Start("kill", ["-INT", service.Id.ToString()]);
        await service.WaitForExitAsync(cancellation);
        return used;
    }

    /// <summary>Where nothing is measured something else is asked for, so that a request itself is no difference.</summary>
    private static async Task AskAsync(HttpClient client, string address, CancellationToken end)
    {
        using var every = new PeriodicTimer(TimeSpan.FromSeconds(1));
        try
        {
            while (await every.WaitForNextTickAsync(end))
            {
                await client.GetStringAsync(address, end);
            }
        }
        catch (OperationCanceledException) when (end.IsCancellationRequested)
        {
        }
    }
}
