using WashBridge.Pipeline;

namespace WashBridge.Tests.Pipeline;

public sealed class HistorianSignalTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Who_is_behind_is_answered_at_once()
    {
        var signal = new HistorianSignal();
        signal.Publish(7);
        Assert.Equal(7, await signal.WaitAsync(6, Stop));
    }

    [Fact]
    public async Task Every_waiter_wakes_when_the_log_grows_past_it_and_no_other_does()
    {
        var signal = new HistorianSignal();
        var first = signal.WaitAsync(0, Stop).AsTask();
        var second = signal.WaitAsync(4, Stop).AsTask();
        var further = signal.WaitAsync(5, Stop).AsTask();
        signal.Publish(5);
        Assert.Equal(5, await first);
        Assert.Equal(5, await second);
        Assert.False(further.IsCompleted);
        signal.Publish(6);
        Assert.Equal(6, await further);
    }

    [Fact]
    public async Task An_older_number_neither_wakes_nor_takes_back()
    {
        var signal = new HistorianSignal();
        signal.Publish(5);
        var waiting = signal.WaitAsync(5, Stop).AsTask();
        signal.Publish(3);
        signal.Publish(5);
        Assert.Equal(5, signal.Last);
        Assert.False(waiting.IsCompleted);
        signal.Publish(8);
        Assert.Equal(8, await waiting);
    }

    [Fact]
    public async Task A_cancelled_wait_ends_and_leaves_the_others_waiting()
    {
        var signal = new HistorianSignal();
        using var stop = new CancellationTokenSource();
        var cancelled = signal.WaitAsync(0, stop.Token).AsTask();
        var other = signal.WaitAsync(0, Stop).AsTask();
        await stop.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => cancelled);
        Assert.False(other.IsCompleted);
        signal.Publish(1);
        Assert.Equal(1, await other);
    }
}
