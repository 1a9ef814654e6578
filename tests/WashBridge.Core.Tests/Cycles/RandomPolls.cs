using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>
/// Reads a <see cref="RandomWasher"/> as a bridge would: late, slow, in two requests, with lost and failed reads, bad samples, outages, clock steps and restarts.
/// </summary>
internal sealed class RandomPolls
{
    private readonly RandomWasher _washer;
    private readonly Random _random;
    private readonly List<(long From, long Shift, long ShiftInEpoch, int Epoch)> _clock = [(long.MinValue, 0, 0, 0)];
    private readonly bool _oneGroup;
    private readonly double _trouble;
    private readonly long _every;
    private readonly double[] _last;
    private readonly bool[] _bad;
    private readonly bool[] _full = [true, true];
    private long _now;

    /// <param name="washer">What is read.</param>
    /// <param name="seed">Of all chances.</param>
    /// <param name="trouble">Chance of an outage, restart or clock step at each poll.</param>
    public RandomPolls(RandomWasher washer, int seed, double trouble)
    {
        _washer = washer;
        _random = new Random(seed);
        _trouble = trouble;
        _oneGroup = _random.Next(2) == 0;
        _every = (long)(washer.Model.GapLimit.TotalMicroseconds * (0.02 + (0.4 * _random.NextDouble())));
        _last = new double[washer.Model.Signals.Count];
        _bad = new bool[_last.Length];
        _now = _random.Next(3) == 0 ? _random.Next(20_000_000) : 0;
        while (_now < washer.End)
        {
            Poll();
        }

        // Idle is seen at last, so that every cycle has ended.
        _full[0] = _full[1] = true;
        for (var i = 0; i < 50; i++)
        {
            _now += 100_000;
            Read(0);
        }
    }

    public List<Frame> Frames { get; } = [];

    /// <summary>Moments at which every group had just been lost, so that reading starts anew: indices into <see cref="Frames"/>.</summary>
    public List<int> FreshStarts { get; } = [];

    /// <summary>When the position was read well: true times, from and to.</summary>
    public List<(long From, long To)> GoodReads { get; } = [];

    /// <summary>Where a true time lies on the time line that the frames tell.</summary>
    public Moment Place(long time)
    {
        var segment = _clock.FindLast(c => c.From <= time);
        var wall = new Instant(Script.Zero.UnixMicroseconds + time + segment.Shift);
        return new Moment(wall, new Instant(wall.UnixMicroseconds - segment.ShiftInEpoch), segment.Epoch);
    }

    private void Poll()
    {
        if (_random.NextDouble() < _trouble)
        {
            Trouble();
        }

        _now += (long)(_every * (0.8 + (0.4 * _random.NextDouble())));
        if (_random.Next(15) == 0)
        {
            return;
        }

        foreach (var group in _oneGroup ? new[] { 0 } : [0, 1])
        {
            if (_random.NextDouble() < 0.01)
            {
                var failed = Span(_now, _now += _random.Next(300_000));
                Frames.Add(new Frame { Washer = "w1", Group = group, Kind = FrameKind.Failed, Read = failed, Reason = "test" });
                _full[group] = true;
                continue;
            }

            Read(group);
        }
    }

    private void Read(int group)
    {
        var from = _now;
        var samples = new List<Sample>();
        var isGood = true;
        var full = _full[group] || _random.Next(40) == 0;
        foreach (var request in new[] { 0, 1 })
        {
            var sent = _now;
            _now += 200 + _random.Next(20_000);
            var taken = sent + (long)((_now - sent) * _random.NextDouble());
            for (var i = 0; i < _last.Length; i++)
            {
                var signal = _washer.Model.Signals[i];
                var isDrain = signal.Station > 0;
                if ((_oneGroup ? 0 : isDrain ? 1 : 0) != group || (isDrain || signal.Name == "sequence.paused" ? 1 : 0) != request)
                {
                    continue;
                }

                var value = _washer.Read(signal, taken);
                var bad = _random.Next(_bad[i] ? 3 : 400) == 0 ? !_bad[i] : _bad[i];
                if (full || bad != _bad[i] || (!bad && value != _last[i]))
                {
                    samples.Add(new Sample(signal, bad ? SignalValue.None : new SignalValue(value), bad ? Quality.Bad : Quality.Good, Span(sent, _now)));
                }

                _bad[i] = bad;
                _last[i] = bad ? double.NaN : value;
                isGood &= !(bad && signal.Name is "sequence.step" or "sequence.paused");
            }
        }

        Frames.Add(new Frame { Washer = "w1", Group = group, Kind = full ? FrameKind.Full : FrameKind.Changes, Read = Span(from, _now), Samples = samples });
        _full[group] = false;

        // Paused at a place that is not told is no reading unless the place was read just before.
        var isHidden = _last[1] == 90 && (GoodReads.Count == 0 || _now - GoodReads[^1].From > _washer.Model.GapLimit.TotalMicroseconds);
        if (group == 0 && isGood && !isHidden)
        {
            GoodReads.Add((from, _now));
        }
    }

    private void Trouble()
    {
        var outage = _random.Next(4) switch
        {
            0 => _random.Next(100_000, 3_000_000),
            1 => _random.Next(3_000_000, 30_000_000),
            2 => _random.Next(30_000_000, 90_000_000),
            _ => 0,
        };
        if (outage > 0 && _random.Next(2) == 0)
        {
            Frames.Add(new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Failed, Read = Span(_now, _now + 1000), Reason = "test" });
            _now += 1000;
        }

        _now += outage;
        if (outage == 0 || _random.Next(3) == 0)
        {
            var known = _random.Next(4) > 0;
            var last = _clock[^1];
            var shift = (long)(7_200e6 * (_random.NextDouble() - 0.5));
            _clock.Add(known ? (_now, last.Shift + shift, last.ShiftInEpoch + shift, last.Epoch) : (_now, last.Shift + shift, 0, last.Epoch + 1));
            Frames.Add(new Frame
            {
                Washer = "w1",
                Group = 0,
                Kind = FrameKind.Clock,
                Read = Span(_now, _now),
                Reason = "test",
                Clock = new ClockShift(known ? TimeSpan.FromMicroseconds(shift) : null),
            });
        }

        _full[0] = _full[1] = true;
        FreshStarts.Add(Frames.Count);
    }

    private TimeBounds Span(long from, long to) => new(Place(from).Wall, Place(to).Wall);
}
