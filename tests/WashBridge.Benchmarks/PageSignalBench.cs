using System.Diagnostics;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Web.Charts;

namespace WashBridge.Benchmarks;

/// <summary>How long the data of a picture take: 30 days of one signal at four polls a second, each with another value, sealed hour by hour.</summary>
internal sealed class PageSignalBench : IBench
{
    private const int PollsAnHour = 4 * 3600;

    private static readonly Signal Signal = new("w1", 0, "temperature.caustic", "Cel", SignalType.Quantity);
    private static readonly Instant Start = Instant.Parse("2031-03-01T00:00:00Z");

    public string Name => "page-signal";

    public string What => "time to the data of a signal's picture: 30 days at 250 ms polls [days]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var days = arguments.Length > 0 ? int.Parse(arguments[0]) : 30;
        var folder = Directory.CreateTempSubdirectory("page-signal");
        try
        {
            var path = Path.Combine(folder.FullName, "a.washdb");
            using var historian = Historian.Historian.Open(path, new HistorianOptions(), TimeProvider.System);
            var watch = Stopwatch.StartNew();
            Fill(historian, days, cancellation);
            Console.WriteLine($"{days} days, {(long)days * 24 * PollsAnHour:N0} samples, written and sealed in {watch.Elapsed.TotalSeconds:0} s, {new FileInfo(path).Length / 1e6:0} MB");
            foreach (var span in new[] { TimeSpan.FromMinutes(15), TimeSpan.FromHours(1), TimeSpan.FromHours(8), TimeSpan.FromDays(1), TimeSpan.FromDays(7), TimeSpan.FromDays(9.9), TimeSpan.FromDays(days) })
            {
                Measure(path, span, Start + TimeSpan.FromDays(days));
            }
        }
        finally
        {
            folder.Delete(recursive: true);
        }

        return Task.CompletedTask;
    }

    /// <summary>By a reader that was just opened, and again.</summary>
    private static void Measure(string path, TimeSpan span, Instant until)
    {
        using var reader = Historian.Historian.OpenReader(path);
        var times = new List<double>();
        SignalPicture picture = null!;
        for (var i = 0; i < 6; i++)
        {
            var watch = Stopwatch.StartNew();
            picture = SignalSeries.Read(reader, Signal, until - span, until, new SignalWatch(TimeSpan.FromSeconds(90), []));
            times.Add(watch.Elapsed.TotalMilliseconds);
        }

        var first = times[0];
        times.Sort();
        Console.WriteLine($"{span.TotalHours,7:0.00} h: {picture.Detail,-7} {picture.Points.Count,5} points, first {first,6:0.0} ms, then median {times[times.Count / 2],6:0.0} ms (bar 300 ms): {(first <= 300 ? "kept" : "MISSED")}");
    }

    internal static void Fill(Historian.Historian historian, int days, CancellationToken cancellation)
    {
        var random = new Random(20310305);
        var value = 700;
        for (var hour = 0; hour < days * 24; hour++)
        {
            cancellation.ThrowIfCancellationRequested();
            var frames = new Frame[PollsAnHour];
            for (var i = 0; i < frames.Length; i++)
            {
                value += random.Next(-2, 3);
                var earliest = Start.UnixMicroseconds + ((((long)hour * PollsAnHour) + i) * 250_000) + random.Next(0, 2000);
                var read = new TimeBounds(new Instant(earliest), new Instant(earliest + 2500));
                frames[i] = new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Full, Read = read, Samples = [new Sample(Signal, new SignalValue(value / 10.0), Quality.Good, read)] };
            }

            foreach (var batch in frames.Chunk(2000))
            {
                historian.AppendFrames(batch);
            }

            historian.Seal(Start + TimeSpan.FromHours(hour), cancellation);
        }
    }
}
