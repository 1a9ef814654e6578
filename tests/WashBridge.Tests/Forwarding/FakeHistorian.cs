using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Tests.Forwarding;

/// <summary>The log and the cursors, in memory: what a follower needs of a historian.</summary>
internal sealed class FakeHistorian : IHistorian
{
    private readonly Lock _lock = new();
    private readonly List<LogEntry> _log = [];
    private readonly Dictionary<string, FollowerState> _followers = [];
    private TaskCompletionSource _moved = new(TaskCreationOptions.RunContinuationsAsynchronously);

    /// <summary>Every state a follower left, in order.</summary>
    public List<FollowerState> Moves { get; } = [];

    public long LastSequence
    {
        get
        {
            lock (_lock)
            {
                return _log.Count;
            }
        }
    }

    public IReadOnlyList<Signal> Signals => throw new NotSupportedException();

    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null)
    {
        lock (_lock)
        {
            return [.. _log.Skip((int)after)
                .Where(e => content.HasFlag(e.Event is null ? LogContent.Frames : LogContent.Events))
                .Where(e => washer is null || washer == (e.Event?.Washer ?? e.Frame!.Washer))
                .Take(atMost)];
        }
    }

    public long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower = null)
    {
        lock (_lock)
        {
            foreach (var frame in frames)
            {
                _log.Add(new LogEntry(_log.Count + 1, frame, null));
            }

            return _log.Count;
        }
    }

    public long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower = null)
    {
        lock (_lock)
        {
            foreach (var each in events)
            {
                _log.Add(new LogEntry(_log.Count + 1, null, each));
            }

            if (follower is not null)
            {
                _followers[follower.Follower] = follower;
                Moves.Add(follower);
                var moved = _moved;
                _moved = new(TaskCreationOptions.RunContinuationsAsynchronously);
                moved.SetResult();
            }

            return _log.Count;
        }
    }

    /// <summary>Returns when the follower's cursor has come that far.</summary>
    public async Task MovedToAsync(string follower, long sequence)
    {
        while (true)
        {
            Task moved;
            lock (_lock)
            {
                if (_followers.TryGetValue(follower, out var state) && state.Sequence >= sequence)
                {
                    return;
                }

                moved = _moved.Task;
            }

            await moved.WaitAsync(TestContext.Current.CancellationToken);
        }
    }

    /// <summary>Nothing more will come.</summary>
    public void End(Exception cause)
    {
        lock (_lock)
        {
            _moved.TrySetException(cause);
        }
    }

    public FollowerState? ReadFollower(string follower)
    {
        lock (_lock)
        {
            return _followers.GetValueOrDefault(follower);
        }
    }

    public bool RemoveFollower(string follower) => throw new NotSupportedException();

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => throw new NotSupportedException();

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => throw new NotSupportedException();

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => throw new NotSupportedException();

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query)
    {
        lock (_lock)
        {
            return [.. _log.Select(e => e.Event).OfType<WashEvent>()
                .Where(e => (query.Washer ?? e.Washer) == e.Washer && (query.Kinds?.Contains(WashJson.KindOf(e)) ?? true) && (query.From is not { } from || e.At.Latest >= from))];
        }
    }

    public void Seal(Instant before, CancellationToken cancellation = default) => throw new NotSupportedException();

    public void Expire(Instant before, CancellationToken cancellation = default) => throw new NotSupportedException();

    public void Dispose()
    {
    }
}
