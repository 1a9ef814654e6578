using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Reading;

/// <summary>Keeps the samples of a period, and the last one before it, of all that are offered.</summary>
internal sealed class SampleSelection(Instant from, Instant until)
{
    private readonly List<Sample> _within = [];
    private Sample? _before;

    public Instant From => from;

    public Instant Until => until;

    public bool HasBefore => _before is not null;

    /// <summary>Whether a sample of this time may be kept.</summary>
    public bool Wants(Instant latest) => latest <= until && (latest >= from || _before is not { } best || latest >= best.At.Latest);

    /// <summary>Whether something of this time (microseconds) would be later than the last one before the period so far.</summary>
    public bool WantsBefore(long latest) => _before is not { } best || latest > best.At.Latest.UnixMicroseconds;

    public void Offer(Sample sample)
    {
        if (sample.At.Latest > until)
        {
            return;
        }

        if (sample.At.Latest >= from)
        {
            _within.Add(sample);
        }
        else if (_before is not { } best || sample.At.Latest >= best.At.Latest)
        {
            _before = sample;
        }
    }

    /// <summary>By time; in the order of the log where times are equal.</summary>
    public List<Sample> InOrder(Instant oldestBefore)
    {
        var all = IsOrdered() ? _within : [.. _within.OrderBy(s => s.At.Latest)];
        if (_before is { } before && before.At.Latest >= oldestBefore)
        {
            all.Insert(0, before);
        }

        return all;
    }

    private bool IsOrdered()
    {
        for (var i = 1; i < _within.Count; i++)
        {
            if (_within[i].At.Latest < _within[i - 1].At.Latest)
            {
                return false;
            }
        }

        return true;
    }
}
