using System.Diagnostics;
using System.Runtime.CompilerServices;
using WashBridge.Core.Signals;

namespace WashBridge.Telemetry;

/// <summary>
/// The way of a poll's values through the service, as OpenTelemetry spans: poll, commit, analyse, forward. Only polls begin a trace, so that one choice (the sampled share)
/// decides about all that follows; while nobody listens nothing is made. What hands over in batches follows the last sampled one of the batch.
/// </summary>
internal static class Traces
{
    public const string SourceName = "WashBridge";

    /// <summary>The poll that a frame on its way to the historian came from. Gone with the frame.</summary>
    private static readonly ConditionalWeakTable<Frame, Activity> Origins = [];

    private static readonly ActivitySource Source = new(SourceName);

    /// <summary>Null: nobody listens.</summary>
    public static Activity? Poll(string washer, string group) => Source.HasListeners()
        ? Source.StartActivity("poll", ActivityKind.Client, default(ActivityContext), [new(Measures.Washer, washer), new("group", group)])
        : null;

    public static void Tie(Frame frame, Activity? poll)
    {
        if (poll is { Recorded: true })
        {
            Origins.AddOrUpdate(frame, poll);
        }
    }

    /// <summary>Null: no frame of the batch came from a poll that is sampled.</summary>
    public static Activity? Commit(List<Frame> batch) =>
        Source.HasListeners() && batch.FindLast(f => Origins.TryGetValue(f, out _)) is { } last && Origins.TryGetValue(last, out var poll)
            ? Source.StartActivity("commit", ActivityKind.Internal, poll.Context, [new("frames", batch.Count)])
            : null;

    /// <summary>Of a follower that takes the log after one entry through another.</summary>
    public static Activity? Follow(string name, string follower, CommitTrail? trail, long after, long through) =>
        Source.HasListeners() && trail?.Cause(after, through) is { } cause
            ? Source.StartActivity(name, ActivityKind.Consumer, cause, [new(Measures.Follower, follower), new("entries", through - after)])
            : null;
}

/// <summary>Which stretches of the log came about in which sampled span: the last few, for those who follow the log.</summary>
internal sealed class CommitTrail
{
    private const int Most = 256;

    private readonly Lock _gate = new();
    private readonly Queue<(long Sequence, ActivityContext Context)> _commits = new();

    /// <param name="sequence">The last entry that was committed in this span.</param>
    /// <param name="span">Null: it is not sampled.</param>
    public void Add(long sequence, Activity? span)
    {
        if (span is not { Recorded: true })
        {
            return;
        }

        lock (_gate)
        {
            _commits.Enqueue((sequence, span.Context));
            if (_commits.Count > Most)
            {
                _commits.Dequeue();
            }
        }
    }

    /// <summary>The last span that committed something within (after, through]; null: none was sampled, or it is long ago.</summary>
    public ActivityContext? Cause(long after, long through)
    {
        lock (_gate)
        {
            return _commits.Where(c => c.Sequence > after && c.Sequence <= through).Select(c => (ActivityContext?)c.Context).LastOrDefault();
        }
    }
}
