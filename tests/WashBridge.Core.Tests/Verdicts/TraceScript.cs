using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Verdicts;

/// <summary>Writes the frames that polling a quantity leaves: a full frame first, then a frame a poll that lists the value only when it changed.</summary>
internal sealed record TraceScript(string Name, string Unit)
{
    public int Station { get; init; }

    public double From { get; init; } = -5;

    public double To { get; init; } = 200;

    public double Every { get; init; } = 1;

    /// <summary>Request to response, s.</summary>
    public double ReadWidth { get; init; }

    /// <summary>List the value in every frame, changed or not.</summary>
    public bool IsVerbose { get; init; }

    /// <summary>The wall clock's error at a time of the cycle, s.</summary>
    public Func<double, double> ClockError { get; init; } = _ => 0;

    public Func<double, bool> IsLost { get; init; } = _ => false;

    public Func<double, Quality> Quality { get; init; } = _ => Signals.Quality.Good;

    public IReadOnlyList<Frame> Of(Func<double, double> value)
    {
        var frames = new List<Frame>();
        var signal = new Signal("w1", Station, Name, Unit, SignalType.Quantity);
        (double, Quality)? last = null;
        for (var at = From; at <= To; at += Every)
        {
            if (at > From && ClockError(at) != ClockError(at - Every))
            {
                frames.Add(new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Clock, Read = Bounds(at, 0), Clock = new ClockShift(TimeSpan.FromSeconds(ClockError(at) - ClockError(at - Every))) });
            }

            var read = Bounds(at, ReadWidth);
            if (IsLost(at))
            {
                frames.Add(new Frame { Washer = "w1", Group = 1, Kind = FrameKind.Failed, Read = read, Reason = "no answer" });
                last = null;
                continue;
            }

            var now = (value(at), Quality(at));
            var kind = last is null ? FrameKind.Full : FrameKind.Changes;
            Sample[] samples = now == last && !IsVerbose ? [] : [new Sample(signal, new SignalValue(now.Item1), now.Item2, read)];
            frames.Add(new Frame { Washer = "w1", Group = 1, Kind = kind, Read = read, Samples = samples });
            last = now;
        }

        return frames;
    }

    private TimeBounds Bounds(double at, double width) => new(CycleScript.Wall(at + ClockError(at)), CycleScript.Wall(at + width + ClockError(at)));
}
