using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Polling;
using WashBridge.Simulator;
using WashBridge.Subscribing;

namespace WashBridge.Tests.Subscribing;

/// <summary>What a server's source timestamps are.</summary>
internal enum SourceTimes
{
    /// <summary>When the server sampled the value.</summary>
    OfSample = 0,

    /// <summary>When the controller's scan changed it.</summary>
    OfChange = 1,

    Missing = 2,

    /// <summary>Of a clock that is minutes off.</summary>
    Skewed = 3,
}

/// <summary>A server that samples a simulated washer and publishes its changes, in virtual time, with all that a network adds.</summary>
internal sealed class VirtualSubscription
{
    private static readonly TimeSpan Tick = TimeSpan.FromMilliseconds(10);
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 6, 0, 0, TimeSpan.Zero);

    private readonly SimulatedWasher _washer;
    private readonly WasherConfiguration _configuration;
    private readonly SubscriptionFrames _frames;
    private readonly ClockAnchor _anchor = new(0, Start, TimeSpan.Zero, TimeSpan.TicksPerSecond);
    private readonly Random _random;
    private readonly SourceTimes _times;
    private readonly TimeSpan _publishing;
    private readonly int _keepAliveCount;
    private readonly TimeSpan _offsetWidth;
    private readonly SignalValue[] _sampled;
    private readonly SignalValue[] _scanned;
    private readonly TimeSpan[] _changed;
    private readonly TimeSpan[] _nextSample;
    private readonly List<ItemValue> _queued = [];
    private readonly List<(List<ItemValue> Values, TimeSpan Published)> _undelivered = [];
    private TimeSpan _nextPublish;
    private TimeSpan _cutUntil;
    private int _silent;
    private bool _isNew = true;

    public VirtualSubscription(SimulatedWasher washer, WasherConfiguration configuration, int seed, SourceTimes times)
    {
        (_washer, _configuration, _times, _random) = (washer, configuration, times, new Random(seed));
        _publishing = TimeSpan.FromMilliseconds(_random.Next(50, 500));
        _keepAliveCount = Math.Max(1, (int)(TimeSpan.FromSeconds(1) / _publishing));
        _offsetWidth = TimeSpan.FromMilliseconds(_random.Next(1, 40));
        _frames = new SubscriptionFrames(configuration, TimeSpan.FromSeconds(1), TimeSpan.TicksPerSecond);
        _sampled = new SignalValue[washer.Map.Count];
        _scanned = new SignalValue[washer.Map.Count];
        _changed = new TimeSpan[washer.Map.Count];
        _nextSample = [.. washer.Map.Select(m => Interval(m.Group) * _random.NextDouble())];
        _frames.Begin(0);
    }

    public DateTimeOffset Wall(TimeSpan time) => Start + time;

    /// <summary>The frames until <paramref name="end"/>; now and then the network is cut, or the server starts anew.</summary>
    public IEnumerable<Frame> Run(TimeSpan end, double cutsPerMinute)
    {
        for (var now = Tick; now <= end; now += Tick)
        {
            Sample(now);
            if (_random.NextDouble() < cutsPerMinute * Tick.TotalMinutes)
            {
                _cutUntil = now + TimeSpan.FromSeconds(0.2 + (8 * _random.NextDouble()));
            }

            if (now < _nextPublish)
            {
                continue;
            }

            _nextPublish = now + (_publishing * (0.9 + (0.2 * _random.NextDouble())));
            Publish(now);
            if (now >= _cutUntil)
            {
                foreach (var frame in Deliver(now))
                {
                    yield return frame;
                }
            }
        }
    }

    private void Sample(TimeSpan now)
    {
        _washer.AdvanceTo(now);
        for (var i = 0; i < _sampled.Length; i++)
        {
            var isDue = now >= _nextSample[i];
            if (!isDue && _times != SourceTimes.OfChange)
            {
                continue;
            }

            var value = _washer.Read(i);
            if (!value.Equals(_scanned[i]))
            {
                (_scanned[i], _changed[i]) = (value, _washer.Now);
            }

            if (!isDue)
            {
                continue;
            }

            _nextSample[i] += Interval(_washer.Map[i].Group);
            if (_isNew || !value.Equals(_sampled[i]))
            {
                _sampled[i] = value;
                _queued.Add(new ItemValue(i, new TagReading(value, Quality.Good, null), Source(i, now)));
            }
        }
    }

    private void Publish(TimeSpan now)
    {
        if (_isNew)
        {
            // All items have been sampled once before the first message.
            for (var i = 0; i < _sampled.Length; i++)
            {
                if (!_queued.Exists(v => v.Tag == i))
                {
                    _sampled[i] = _washer.Read(i);
                    _queued.Add(new ItemValue(i, new TagReading(_sampled[i], Quality.Good, null), Source(i, now)));
                }
            }
        }

        if (_queued.Count == 0 && ++_silent < _keepAliveCount)
        {
            return;
        }

        (_isNew, _silent) = (false, 0);
        _undelivered.Add(([.. _queued], now));
        _queued.Clear();
    }

    private IEnumerable<Frame> Deliver(TimeSpan now)
    {
        var isLost = _undelivered.Count > 3 && _random.Next(2) == 0;
        if (isLost)
        {
            // The server has forgotten the subscription: what it had is lost, all values come anew.
            _undelivered.Clear();
            _queued.Clear();
            _isNew = true;
            foreach (var frame in _frames.Fail("the connection was lost", StampBounds.At(now.Ticks), _anchor))
            {
                yield return frame;
            }

            _frames.Begin(now.Ticks);
            _nextPublish = now;
            yield break;
        }

        foreach (var (values, published) in _undelivered)
        {
            var received = now + TimeSpan.FromMilliseconds(_random.Next(1, 30));
            var made = Mapped(published);
            foreach (var frame in _frames.Publish(values, made with { Latest = Math.Min(made.Latest, received.Ticks) }, received.Ticks, _anchor))
            {
                yield return frame;
            }
        }

        _undelivered.Clear();
    }

    private StampBounds? Source(int tag, TimeSpan now) => _times switch
    {
        SourceTimes.OfSample => Mapped(now),
        SourceTimes.OfChange => Mapped(_changed[tag]),
        SourceTimes.Skewed => Mapped(now + TimeSpan.FromMinutes(_configuration.Model.Stations % 2 == 0 ? 3 : -3)),
        _ => null,
    };

    /// <summary>A server's time on our clock, known to a few milliseconds.</summary>
    private StampBounds Mapped(TimeSpan time)
    {
        var below = _offsetWidth * _random.NextDouble();
        return new StampBounds((time - below).Ticks, (time + _offsetWidth - below).Ticks);
    }

    private TimeSpan Interval(int group) => _configuration.Groups.First(g => g.Number == group).Every;
}
