using System.Threading.Channels;
using Microsoft.Extensions.Time.Testing;

namespace WashBridge.Tests.Forwarding;

/// <summary>Virtual time that tells of every wait that begins, so that a test can let exactly that one pass.</summary>
internal sealed class RecordingTime(DateTimeOffset? start = null) : FakeTimeProvider(start ?? new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero))
{
    private readonly Channel<TimeSpan> _waits = Channel.CreateUnbounded<TimeSpan>();

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        var timer = new RecordingTimer(base.CreateTimer(callback, state, dueTime, period), _waits.Writer);
        _waits.Writer.TryWrite(dueTime);
        return timer;
    }

    /// <summary>The length of the next wait that is not <paramref name="except"/> (the time limit of a request, say).</summary>
    public async Task<TimeSpan> NextWaitAsync(TimeSpan except)
    {
        while (true)
        {
            var wait = await _waits.Reader.ReadAsync(TestContext.Current.CancellationToken);
            if (wait != except && wait > TimeSpan.Zero)
            {
                return wait;
            }
        }
    }

    /// <summary>Nothing more will come.</summary>
    public void End(Exception cause) => _waits.Writer.TryComplete(cause);

    /// <summary>Lets the next such wait pass, and returns how long it was.</summary>
    public async Task<TimeSpan> PassNextWaitAsync(TimeSpan except)
    {
        var wait = await NextWaitAsync(except);
        Advance(wait);
        return wait;
    }

    /// <summary>Some set their timer only once it exists.</summary>
    private sealed class RecordingTimer(ITimer timer, ChannelWriter<TimeSpan> waits) : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period)
        {
            var changed = timer.Change(dueTime, period);
            waits.TryWrite(dueTime);
            return changed;
        }

        public void Dispose() => timer.Dispose();

        public ValueTask DisposeAsync() => timer.DisposeAsync();
    }
}
