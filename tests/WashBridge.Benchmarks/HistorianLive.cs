using System.Diagnostics;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks;

/// <summary>What the service does all day: many small appends, and as many followers' questions whether there is anything new.</summary>
internal sealed class HistorianLive(Historian.Historian historian)
{
    private const int Appends = 3000;
    private const int FramesPerAppend = 4;
    private const int ChangesPerFrame = 3;

    public async Task MeasureAsync(CancellationToken cancellation)
    {
        var line = new HistorianLine();
        var appends = new List<double>();
        var reads = new List<double>();
        var cursors = new long[HistorianLine.Washers];
        Array.Fill(cursors, historian.LastSequence);
        var before = new FileInfo(historian.Path).Length;
        var processor = Process.GetCurrentProcess().TotalProcessorTime;
        for (var i = 0; i < Appends; i++)
        {
            var start = Stopwatch.GetTimestamp();
            historian.AppendFrames(Frames(line, i));
            appends.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
            start = Stopwatch.GetTimestamp();
            for (var washer = 0; washer < cursors.Length; washer++)
            {
                if (historian.ReadLog(cursors[washer], 100, washer: $"w{washer + 1}") is { Count: > 0 } entries)
                {
                    cursors[washer] = entries[^1].Sequence;
                }
            }

            reads.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
        }

        processor = Process.GetCurrentProcess().TotalProcessorTime - processor;
        Console.WriteLine($"  live: {Appends} appends of {FramesPerAppend} frames with {ChangesPerFrame} changes, {HistorianLine.Washers} followers asking after each: {processor.TotalMilliseconds / Appends:N3} ms of processor an append with its reads, file grew by {(double)(new FileInfo(historian.Path).Length - before) / Appends / FramesPerAppend:N0} bytes a frame");
        HistorianBench.Report("live append", appends);
        HistorianBench.Report("20 followers' reads", reads);

        // With a seal of what was just written in full swing.
        var sealing = Task.Run(() => historian.Seal(HistorianLine.At(1e9), cancellation), cancellation);
        var during = new List<double>();
        for (var i = Appends; !sealing.IsCompleted; i++)
        {
            var start = Stopwatch.GetTimestamp();
            historian.AppendFrames(Frames(line, i));
            during.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
        }

        await sealing;
        if (during.Count > 0)
        {
            HistorianBench.Report("live append while sealing", during);
        }
    }

    private static Frame[] Frames(HistorianLine line, int index) => [.. Enumerable.Range(0, FramesPerAppend).Select(f =>
    {
        var washer = ((index * FramesPerAppend) + f) % HistorianLine.Washers;
        var at = HistorianLine.At(40 * 86_400 + (index * 0.02));
        var read = new TimeBounds(at, at + TimeSpan.FromMilliseconds(3));
        return new Frame
        {
            Washer = $"w{washer + 1}",
            Group = 0,
            Kind = FrameKind.Changes,
            Read = read,
            Samples = [.. Enumerable.Range(0, ChangesPerFrame).Select(t => new Sample(line.Signal(washer, t), new SignalValue((index + t) % 500 / 10.0), Quality.Good, read))],
        };
    })];
}
