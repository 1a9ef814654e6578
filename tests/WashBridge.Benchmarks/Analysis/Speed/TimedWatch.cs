using WashBridge.Analysis;
using WashBridge.Core.Cycles;

namespace WashBridge.Benchmarks.Analysis.Speed;

/// <summary>A watch in the chain, and what it costs there.</summary>
internal sealed class TimedWatch(IWatch watch) : IWatch
{
    public string Name => watch.Name;

    /// <summary>Of all events so far.</summary>
    public long Nanoseconds { get; private set; }

    public IReadOnlyList<WashEvent> Accept(WashEvent washEvent)
    {
        var begin = ThreadTime.Now;
        var found = watch.Accept(washEvent);
        Nanoseconds += ThreadTime.Now - begin;
        return found;
    }

    public string Snapshot() => watch.Snapshot();

    public void Restore(string snapshot) => watch.Restore(snapshot);
}
