using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks;

/// <summary>
/// A line of washers read once a second, the same every time: of 60 tags a washer 36 are measured quantities with noise at their resolution
/// (0.1 or 0.01), 16 are valves and pumps that switch now and then, 4 count, 4 are setpoints. Read times jitter by some milliseconds.
/// </summary>
internal sealed class HistorianLine
{
    public const int Washers = 20;
    public const int Tags = 60;
    public const int SamplesPerSecond = Washers * Tags;

    private const int Quantities = 36;
    private const int Flags = 16;
    private const int Counters = 4;

    private readonly Random _random = new(20310305);
    private readonly Signal[][] _signals;
    private readonly long[][] _scaled;
    private int _second;

    public HistorianLine()
    {
        _signals = [.. Enumerable.Range(1, Washers).Select(w => Enumerable.Range(0, Tags).Select(t => Make(w, t)).ToArray())];
        _scaled = [.. Enumerable.Range(0, Washers).Select(_ => Enumerable.Range(0, Tags).Select(t => t < Quantities ? _random.NextInt64(100, 900) : _random.NextInt64(0, 2)).ToArray())];
    }

    public static Instant Start { get; } = Instant.Parse("2031-03-01T00:00:00Z");

    public int Seconds => _second;

    public static Instant At(double seconds) => new(Start.UnixMicroseconds + (long)(seconds * 1e6));

    public Signal Signal(int washer, int tag) => _signals[washer][tag];

    /// <summary>One frame a washer: the next second.</summary>
    public Frame[] Next()
    {
        var frames = new Frame[Washers];
        for (var washer = 0; washer < Washers; washer++)
        {
            var earliest = Start.UnixMicroseconds + (_second * 1_000_000L) + (washer * 3000) + _random.Next(0, 2000);
            var read = new TimeBounds(new Instant(earliest), new Instant(earliest + 2500 + _random.Next(0, 1500)));
            var samples = new Sample[Tags];
            for (var tag = 0; tag < Tags; tag++)
            {
                samples[tag] = new Sample(_signals[washer][tag], new SignalValue(Advance(washer, tag)), Quality.Good, read);
            }

            frames[washer] = new Frame { Washer = $"w{washer + 1}", Group = 0, Kind = FrameKind.Full, Read = read, Samples = samples };
        }

        _second++;
        return frames;
    }

    private static Signal Make(int washer, int tag) => tag switch
    {
        < Quantities => new($"w{washer}", 0, $"other.quantity-{tag}", "Cel", SignalType.Quantity),
        < Quantities + Flags => new($"w{washer}", 0, $"other.flag-{tag}", "", SignalType.Flag),
        < Quantities + Flags + Counters => new($"w{washer}", 0, $"counter.c{tag}", "", SignalType.Integer),
        _ => new($"w{washer}", 0, $"setpoint.s{tag}", "s", SignalType.Quantity),
    };

    private double Advance(int washer, int tag)
    {
        ref var scaled = ref _scaled[washer][tag];
        switch (tag)
        {
            case < Quantities:
                // A slow drift of the quantity and noise of some counts of the converter.
                scaled += _random.Next(0, 20) == 0 ? _random.Next(-1, 2) : 0;
                return (scaled + _random.Next(-2, 3)) / (tag % 2 == 0 ? 10.0 : 100.0);
            case < Quantities + Flags:
                scaled ^= _random.Next(0, 25) == 0 ? 1 : 0;
                return scaled;
            case < Quantities + Flags + Counters:
                scaled += _random.Next(0, 60) == 0 ? 1 : 0;
                return scaled;
            default:
                return 20 + tag;
        }
    }
}
