using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

/// <summary>Random frames, from tame to hostile.</summary>
internal static class Generate
{
    public static readonly Signal[] Signals =
    [
        new("w1", 0, "sequence.step", "", SignalType.Integer),
        new("w1", 0, "temperature.caustic", "Cel", SignalType.Quantity),
        new("w1", 1, "drain.dry", "", SignalType.Flag),
        new("w1", 1, "keg.id", "", SignalType.Text),
        new("w2", 0, "temperature.caustic", "Cel", SignalType.Quantity),
        new("w2", 3, "pressure.keg", "bar(a)", SignalType.Quantity),
        new("w2", 3, "keg.present", "", SignalType.Flag),
        new("w3", 0, "keg.id", "", SignalType.Text),
        new("w3", 0, "flow.supply", "L/min", SignalType.Quantity),
    ];

    /// <summary>Every bit pattern, and often those that controllers send.</summary>
    public static readonly Gen<double> Number = Gen.Frequency(
        (4, Gen.Int[-2000, 2000].Select(i => i / 10.0)),
        (2, Gen.Int[-2000, 2000].Select(i => i * 0.1)),
        (2, Gen.Int[-2000, 2000].Select(i => (double)(i / 100f))),
        (2, Gen.Int[0, 1].Select(i => (double)i)),
        (1, Gen.Long.Select(BitConverter.Int64BitsToDouble)),
        (1, Gen.OneOf(0.0, -0.0, double.NaN, double.PositiveInfinity, double.NegativeInfinity, double.Epsilon, double.MaxValue, BitConverter.Int64BitsToDouble(0x7FF8000000000123))));

    public static readonly Gen<SignalValue> Value = Gen.Frequency(
        (6, Number.Select(n => new SignalValue(n))),
        (1, Gen.String[0, 8].Select(SignalValue.Of)),
        (1, Gen.Select(Number, Gen.String[Gen.Char, 0, 3], (n, t) => new SignalValue(n, t))));

    /// <summary>Frames whose clock mostly runs forward, sometimes jumps, and whose samples are mostly of the frame's own time.</summary>
    public static Gen<List<Frame>> Frames(int most) => Draft().List[1, most].Select(drafts =>
    {
        var now = Store.Start.UnixMicroseconds;
        var frames = new List<Frame>();
        foreach (var draft in drafts)
        {
            now += draft.Step;
            var read = new TimeBounds(new Instant(now), new Instant(now + draft.Width));
            frames.Add(new Frame
            {
                Washer = draft.Washer,
                Group = draft.Group,
                Kind = draft.Kind,
                Read = read,
                Samples = [.. draft.Samples.Select(s => new Sample(s.Signal, s.Value, s.Quality, s.Own is { } own ? new TimeBounds(new Instant(now + own.Earlier), new Instant(now + own.Later)) : read))],
                Reason = draft.Reason,
                Clock = draft.Clock,
            });
        }

        return frames;
    });

    private static Gen<(Signal Signal, SignalValue Value, Quality Quality, (long Earlier, long Later)? Own)> SampleDraft(Signal[] signals) =>
        from signal in Gen.Int[0, 99].Select(i => signals[i % signals.Length])
        from value in Value
        from quality in Gen.Frequency((5, Gen.Const(Quality.Good)), (1, Gen.OneOf(Quality.Uncertain, Quality.Bad)))
        from own in Gen.Frequency<(long, long)?>((4, Gen.Bool.Select(_ => ((long, long)?)null)), (1, Gen.Select(Gen.Long[-3_000_000, 0], Gen.Long[0, 9_000], (a, b) => ((long, long)?)(a, b))))
        select (signal, value, quality, own);

    private static Gen<FrameDraft> Draft() =>
        from washer in Gen.OneOf("w1", "w2", "w3")
        from ordinary in Gen.Int[0, 9]
        from pollGroup in Gen.Int[0, 2]
        from step in Gen.Frequency((12, Gen.Long[90_000, 110_000]), (2, Gen.Long[0, 1_500_000_000]), (1, Gen.Long[-5_000_000_000, 5_000_000_000]))
        from width in Gen.Frequency((9, Gen.Long[500, 20_000]), (1, Gen.Long[0, 90_000_000]))
        from samples in SampleDraft([.. Signals.Where(s => s.Washer == washer)]).List[0, 6]
        from sorted in Gen.Bool
        from reason in Gen.String[0, 10]
        from shift in Gen.Frequency((1, Gen.Bool.Select(_ => (long?)null)), (1, Gen.Long[-10_000_000_000, 10_000_000_000].Select(t => (long?)t)))
        select new FrameDraft(washer, pollGroup, step, width,
            ordinary switch { 0 => FrameKind.Failed, 1 => FrameKind.Clock, 2 => FrameKind.Full, _ => FrameKind.Changes },
            ordinary < 2 && samples.Count < 5 ? [] : sorted ? [.. samples.OrderBy(s => Array.IndexOf(Signals, s.Signal))] : samples,
            ordinary < 2 ? reason : null,
            ordinary == 1 ? new ClockShift(shift is { } ticks ? new TimeSpan(ticks) : null) : null);

    /// <summary>A small event with the given id.</summary>
    public static WashEvent Event(string id, string washer = "w1", double seconds = 0, string? cycle = null) => new KegScanned
    {
        Id = id,
        Washer = washer,
        At = new TimeBounds(Store.At(seconds), Store.At(seconds + 0.5)),
        CycleId = cycle,
        Station = 1,
        KegId = "K-" + id,
    };

    private sealed record FrameDraft(string Washer, int Group, long Step, long Width, FrameKind Kind,
        List<(Signal Signal, SignalValue Value, Quality Quality, (long Earlier, long Later)? Own)> Samples, string? Reason, ClockShift? Clock);
}
