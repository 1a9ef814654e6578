using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Tests.Pairing;

/// <summary>Commits so many times, then no more, as a process that is killed.</summary>
internal sealed class KilledHistorian(IHistorian inner) : IHistorian
{
    public int Left { get; set; }

    public long LastSequence => inner.LastSequence;

    public IReadOnlyList<Signal> Signals => inner.Signals;

    public long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower = null) => Left-- > 0 ? inner.AppendFrames(frames, follower) : throw new OperationCanceledException();

    public long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower = null) => Left-- > 0 ? inner.AppendEvents(events, follower) : throw new OperationCanceledException();

    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null) => inner.ReadLog(after, atMost, content, washer);

    public IReadOnlyList<RecordEntry> ReadRecords(long after, int atMost) => inner.ReadRecords(after, atMost);

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => inner.ReadFrames(washer, from, until);

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => inner.ReadSamples(signal, from, until);

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => inner.ReadHourly(signal, from, until);

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => inner.ReadEvents(query);

    public FollowerState? ReadFollower(string follower) => inner.ReadFollower(follower);

    public bool RemoveFollower(string follower) => inner.RemoveFollower(follower);

    public void Seal(Instant before, CancellationToken cancellation = default) => inner.Seal(before, cancellation);

    public void Expire(Instant before, CancellationToken cancellation = default) => inner.Expire(before, cancellation);

    public void Dispose()
    {
    }
}
