using System.Collections.Concurrent;
using System.Diagnostics.Metrics;
using WashBridge.Telemetry;

namespace WashBridge.Tests.Messaging;

/// <summary>What counters have counted of one follower, which must have a name that no other test gives.</summary>
internal sealed class Counts : IDisposable
{
    private readonly MeterListener _listener = new();
    private readonly ConcurrentDictionary<(string Instrument, string Label), long> _sums = [];

    public Counts(string follower)
    {
        _listener.InstrumentPublished = (instrument, listener) =>
        {
            if (instrument.Meter == Measures.Shared)
            {
                listener.EnableMeasurementEvents(instrument);
            }
        };
        _listener.SetMeasurementEventCallback<long>((instrument, value, labels, _) =>
        {
            if (labels.ToArray() is [{ Key: Measures.Follower } first, var other] && follower.Equals(first.Value))
            {
                _sums.AddOrUpdate((instrument.Name, $"{other.Value}"), value, (_, sum) => sum + value);
            }
        });
        _listener.Start();
    }

    /// <summary>By what the second label says.</summary>
    public long this[string instrument, string label] => _sums.GetValueOrDefault((instrument, label));

    public void Dispose() => _listener.Dispose();
}
