using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks;

/// <summary>Another way to keep the same samples, one row each.</summary>
internal abstract class HistorianPeer : IDisposable
{
    /// <summary>The tag of the month's data, beyond those of the line.</summary>
    protected const int MonthTag = HistorianLine.Washers * HistorianLine.Tags;

    public abstract string Name { get; }

    public abstract void Open(string path);

    /// <summary>Stores the frames durably.</summary>
    public abstract void Append(IReadOnlyList<Frame> frames);

    /// <summary>Brings the file to its final size.</summary>
    public abstract void Settle();

    public abstract long Trace(int washer, Instant from, Instant until);

    public abstract void AppendMonth(int seconds, int step);

    public abstract long HourByHour();

    public abstract void Dispose();

    protected static IEnumerable<(int Tag, long At, double Value)> Rows(IReadOnlyList<Frame> frames)
    {
        for (var washer = 0; washer < frames.Count; washer++)
        {
            for (var tag = 0; tag < frames[washer].Samples.Count; tag++)
            {
                var sample = frames[washer].Samples[tag];
                yield return ((washer * HistorianLine.Tags) + tag, sample.At.Latest.UnixMicroseconds, sample.Value.Number);
            }
        }
    }

    protected static IEnumerable<(int Tag, long At, double Value)> MonthRows(int seconds, int step)
    {
        var random = new Random(7);
        var scaled = 650;
        for (var second = 0; second < seconds; second += step)
        {
            scaled += random.Next(-1, 2);
            yield return (MonthTag, HistorianLine.At(second).UnixMicroseconds + 3000, scaled / 10.0);
        }
    }
}
