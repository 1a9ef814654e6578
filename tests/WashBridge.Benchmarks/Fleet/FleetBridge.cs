using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>One bridge of the fleet: the program itself as a process, and what it tells of itself.</summary>
internal sealed partial class FleetBridge : IDisposable
{
    private readonly HttpClient _http = new();
    private readonly Process _process;
    private readonly int _port;
    private int _said;

    private FleetBridge(FleetSite site, int washers, int port)
    {
        (Site, Washers, _port) = (site, washers, port);
        _process = new Process
        {
            StartInfo = new ProcessStartInfo("dotnet", [Path.Combine(AppContext.BaseDirectory, "washbridge.dll"), "run", site.File]) { RedirectStandardOutput = true, RedirectStandardError = true },
        };
        _process.OutputDataReceived += (_, e) => Hear(e.Data);
        _process.ErrorDataReceived += (_, e) => Hear(e.Data);
        Started = Stopwatch.StartNew();
        _process.Start();
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    public FleetSite Site { get; }

    public int Washers { get; }

    /// <summary>Lines of its log so far.</summary>
    public int LinesLogged => Volatile.Read(ref _said);

    public Stopwatch Started { get; }

    /// <summary>The first warnings and errors that it logged.</summary>
    public List<string> Warnings { get; } = [];

    public static FleetBridge Start(FleetSite site, int washers, int port) => new(site, washers, port);

    /// <summary>Returns, with the time it took since the start, when every washer's every group has been read.</summary>
    public async Task<TimeSpan> ReadyAsync(CancellationToken cancellation)
    {
        while (true)
        {
            if (_process.HasExited)
            {
                throw new InvalidOperationException($"{Site.Id} ended with exit code {_process.ExitCode}: {string.Join('\n', Warnings)}");
            }

            try
            {
                if (Sum(await ScrapeAsync(cancellation), "washbridge_washer_connected") >= Washers)
                {
                    return Started.Elapsed;
                }
            }
            catch (HttpRequestException)
            {
                // It does not listen yet.
            }

            await Task.Delay(TimeSpan.FromMilliseconds(250), TimeProvider.System, cancellation);
        }
    }

    public async Task<BridgeReading> ReadAsync(CancellationToken cancellation)
    {
        var process = ProcessFigures.Of(_process.Id);
        var metrics = await ScrapeAsync(cancellation);
        return new BridgeReading(Stopwatch.GetTimestamp(), process, metrics, FileBytes(Site.Store) + FileBytes(Site.Store + "-wal"), LinesLogged);
    }

    /// <summary>As a supervisor would.</summary>
    public async Task<int> StopAsync()
    {
        if (!_process.HasExited)
        {
            using var interrupt = Process.Start("kill", ["-TERM", _process.Id.ToString(CultureInfo.InvariantCulture)]);
        }

        await _process.WaitForExitAsync(CancellationToken.None);
        return _process.ExitCode;
    }

    public void Dispose()
    {
        if (!_process.HasExited)
        {
            _process.Kill();
            _process.WaitForExit();
        }

        _process.Dispose();
        _http.Dispose();
    }

    /// <summary>All series of a metric, or those whose labels hold <paramref name="labels"/>.</summary>
    public static double Sum(IReadOnlyDictionary<string, double> metrics, string name, string labels = "") =>
        metrics.Where(m => (m.Key == name || m.Key.StartsWith(name + "{", StringComparison.Ordinal)) && m.Key.Contains(labels, StringComparison.Ordinal)).Sum(m => m.Value);

    private static long FileBytes(string path) => new FileInfo(path) is { Exists: true } file ? file.Length : 0;

    private async Task<IReadOnlyDictionary<string, double>> ScrapeAsync(CancellationToken cancellation)
    {
        var found = new Dictionary<string, double>(StringComparer.Ordinal);
        foreach (var line in (await _http.GetStringAsync(new Uri($"http://127.0.0.1:{_port}/metrics"), cancellation)).Split('\n'))
        {
            if (Series().Match(line) is { Success: true } match)
            {
                found[match.Groups[1].Value] = double.Parse(match.Groups[2].Value, CultureInfo.InvariantCulture);
            }
        }

        return found;
    }

    private void Hear(string? line)
    {
        if (line is null)
        {
            return;
        }

        Interlocked.Increment(ref _said);
        if (line.Contains("cannot be read", StringComparison.Ordinal))
        {
            lock (Warnings)
            {
                if (Warnings.Count < 20)
                {
                    Warnings.Add(line);
                }
            }
        }
    }

    [GeneratedRegex(@"^([a-z_]+(?:\{[^}]*\})?) (\S+)")]
    private static partial Regex Series();
}

/// <summary>What a bridge had come to at a moment.</summary>
internal sealed record BridgeReading(long At, ProcessFigures Process, IReadOnlyDictionary<string, double> Metrics, long StoreBytes, int LinesLogged)
{
    public double Sum(string name, string labels = "") => FleetBridge.Sum(Metrics, name, labels);
}
