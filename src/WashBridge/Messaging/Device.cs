using WashBridge.Core.Cycles;
using WashBridge.Historian;

namespace WashBridge.Messaging;

/// <summary>
/// A washer as a Sparkplug device: how it stands where the follower has come to in the log, and, where not all of it has been sent, how it stood where that begins. What
/// happens to it while there is no session, or while it is dead, is not kept in memory: it is read from the log again.
/// </summary>
/// <param name="number">Its place in the site, from 0: part of its metrics' aliases.</param>
internal sealed class Device(string id, int number, WasherMetrics metrics)
{
    private const ulong AliasesEach = 100_000;

    private WasherMetrics _past = metrics;

    public string Id => id;

    /// <summary>As of the follower's place in the log.</summary>
    public WasherMetrics Present { get; private set; } = metrics;

    /// <summary>All events up to here have been sent, and later ones have not; null: all have been.</summary>
    public long? HeldFrom { get; private set; }

    /// <summary>Its birth certificate has been sent in this session, and no death certificate after it.</summary>
    public bool IsBorn { get; set; }

    public ulong Alias(int metric) => ((ulong)(number + 1) * AliasesEach) + (ulong)metric;

    /// <summary>Goes on by one event, which counts as not sent until <see cref="AllSent"/>.</summary>
    public IReadOnlyList<MetricChange> Take(LogEntry entry)
    {
        if (HeldFrom is null)
        {
            HeldFrom = entry.Sequence - 1;
            _past = Present;
            Present = _past.Copy();
        }

        return Present.Take(entry.Event!);
    }

    /// <summary>Goes through what is held, one event after the other.</summary>
    public IReadOnlyList<MetricChange> Replay(WashEvent washEvent) => _past.Take(washEvent);

    /// <summary>What is held is sent up to here.</summary>
    public void SentTo(long sequence) => HeldFrom = sequence;

    public void AllSent() => (HeldFrom, _past) = (null, Present);
}
