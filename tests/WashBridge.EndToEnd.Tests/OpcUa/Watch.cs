using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>
/// Hears a subscription to counting variables, whose values go up by one, and keeps account: a hole is a value that was skipped although nobody
/// said that something may be missing.
/// </summary>
internal sealed class Watch : ISubscriptionListener
{
    private readonly Lock gate = new();
    private readonly Dictionary<uint, double> last = [];
    private readonly HashSet<uint> excused = [];
    private readonly Dictionary<uint, MonitoredItemState> items = [];
    private readonly List<string> story = [];
    private TaskCompletionSource changed = New();

    public int Values { get; private set; }

    public int Messages { get; private set; }

    public int Holes { get; private set; }

    public int Overflows { get; private set; }

    public int KeepAlives { get; private set; }

    public int Interruptions { get; private set; }

    /// <summary>Resumed with nothing missing.</summary>
    public int Continued { get; private set; }

    /// <summary>Resumed with a gap; the first start is one.</summary>
    public int Restarted { get; private set; }

    public ClockOffset? Clock { get; private set; }

    public IReadOnlyDictionary<uint, DataValue> Latest => latest;

    public IReadOnlyDictionary<uint, MonitoredItemState> Items => items;

    private readonly Dictionary<uint, DataValue> latest = [];

    /// <summary>What happened, for the message of a test that fails.</summary>
    public string Story
    {
        get
        {
            lock (gate)
            {
                return string.Join("\n", story);
            }
        }
    }

    /// <summary>Waits until something is so; what it looks at does not change meanwhile.</summary>
    public async Task UntilAsync(Func<Watch, bool> isSo, string what, double seconds = 20)
    {
        var patience = TimeSpan.FromSeconds(seconds);
        var start = TimeProvider.System.GetTimestamp();
        while (true)
        {
            Task next;
            lock (gate)
            {
                if (isSo(this))
                {
                    return;
                }

                next = changed.Task;
            }

            try
            {
                await next.WaitAsync(patience - TimeProvider.System.GetElapsedTime(start) is var left && left > TimeSpan.Zero ? left : TimeSpan.FromTicks(1), TestContext.Current.CancellationToken);
            }
            catch (TimeoutException)
            {
                Assert.Fail($"{what}: not within {seconds} s\n{this}\n{Story}");
            }
        }
    }

    /// <summary>So many more messages with values.</summary>
    public Task MoreAsync(int messages = 2)
    {
        int wanted;
        lock (gate)
        {
            wanted = Messages + messages;
        }

        return UntilAsync(w => w.Messages >= wanted, $"{wanted} messages");
    }

    public void OnNotification(in PublishedNotification notification)
    {
        var copy = notification;
        Do(copy.Continuous ? null : $"gap ({copy.Origin}, message {copy.SequenceNumber})", () =>
        {
            Messages++;
            if (!copy.Continuous)
            {
                excused.UnionWith(last.Keys);
            }

            foreach (var (handle, value) in copy.Values)
            {
                Note(handle, value);
            }
        });
    }

    public void OnKeepAlive(DateTime serverTime, long sent, long received) => Do(null, () => KeepAlives++);

    public void OnItemChanged(in MonitoredItemState item)
    {
        var copy = item;
        Do(copy.Status.IsBad ? $"item {copy.ClientHandle}: {copy.Status}" : null, () => items[copy.ClientHandle] = copy);
    }

    public void OnInterrupted(string reason, long stamp) => Do($"interrupted: {reason}", () => Interruptions++);

    public void OnResumed(bool continuous) => Do($"resumed, continuous: {continuous}", () =>
    {
        if (continuous)
        {
            Continued++;
            return;
        }

        Restarted++;
        excused.UnionWith(last.Keys);
    });

    public void OnClockOffset(in ClockOffset offset)
    {
        var copy = offset;
        Do(null, () => Clock = copy);
    }

    public override string ToString() =>
        $"{Values} values in {Messages} messages, {Holes} holes, {Overflows} overflows, {KeepAlives} keep-alives, {Interruptions} interruptions, {Continued} continued, {Restarted} restarted";

    private static TaskCompletionSource New() => new(TaskCreationOptions.RunContinuationsAsynchronously);

    private void Note(uint handle, in DataValue value)
    {
        Values++;
        latest[handle] = value;
        var overflowed = value.Status.HasOverflow;
        Overflows += overflowed ? 1 : 0;
        if (!value.Value.TryGetNumber(out var number))
        {
            return;
        }

        if (last.TryGetValue(handle, out var before) && number > before + 1 && !excused.Contains(handle) && !overflowed)
        {
            Holes += (int)(number - before - 1);
            story.Add($"item {handle}: {before} -> {number}");
        }

        excused.Remove(handle);
        last[handle] = number;
    }

    private void Do(string? told, Action change)
    {
        TaskCompletionSource before;
        lock (gate)
        {
            if (told is not null)
            {
                story.Add($"{TimeProvider.System.GetUtcNow():HH:mm:ss.fff} {told}");
            }

            change();
            (before, changed) = (changed, New());
        }

        before.SetResult();
    }
}
