using System.Globalization;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks;

/// <summary>
/// A process to be killed: appends batches whose content follows from their sequence numbers, seals now and then beside it, and prints each
/// number once it is acknowledged. What it wrote can be told from the numbers alone: see <see cref="FrameAt"/> and <see cref="BatchSize"/>.
/// </summary>
internal sealed class HistorianWriterChild : IBench
{
    private const int SealEvery = 20;

    public string Name => "historian-writer-child";

    public string What => "PATH: appends to a historian until it is killed, printing what is acknowledged";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        using var historian = Historian.Historian.Open(arguments[0], new Historian.HistorianOptions { SegmentSamples = 1000 }, TimeProvider.System);
        var output = Console.Out;
        var last = historian.LastSequence;
        output.WriteLine(Text(last));
        output.Flush();
        var sealing = Task.CompletedTask;
        for (var batch = 0; !cancellation.IsCancellationRequested; batch++)
        {
            var first = last + 1;
            last = historian.AppendFrames([.. Enumerable.Range(0, BatchSize(first)).Select(i => FrameAt(first + i))]);
            output.WriteLine(Text(last));
            output.Flush();
            if (batch % SealEvery == 0 && sealing.IsCompleted)
            {
                var before = FrameAt(Math.Max(1, last - 5)).Read.Earliest;
                sealing = Task.Run(() => historian.Seal(before, cancellation), cancellation);
            }
        }

        return sealing;
    }

    /// <summary>How many frames are appended together when the first of them has this number.</summary>
    public static int BatchSize(long first) => 1 + (int)(first * 7919 % 13);

    public static Frame FrameAt(long sequence)
    {
        var washer = $"w{sequence % 3}";
        var earliest = Instant.Parse("2031-03-05T08:00:00Z").UnixMicroseconds + (sequence * 2_000_000);
        var read = new TimeBounds(new Instant(earliest), new Instant(earliest + 1000 + (sequence % 977)));
        return new Frame
        {
            Washer = washer,
            Group = (int)(sequence % 2),
            Kind = sequence % 50 == 0 ? FrameKind.Failed : FrameKind.Changes,
            Read = read,
            Reason = sequence % 50 == 0 ? $"no answer to request {sequence}" : null,
            Samples = [.. Enumerable.Range(0, (int)(sequence % 5)).Select(tag =>
                new Sample(new Signal(washer, 0, $"other.t{tag}", "", SignalType.Quantity), new SignalValue((sequence * (tag + 1) % 1000) / 10.0), Quality.Good, read))],
        };
    }

    private static string Text(long sequence) => sequence.ToString(CultureInfo.InvariantCulture);
}
