using WashBridge.Pipeline;

namespace WashBridge.Tests.Pipeline;

public sealed class FoldGateTests
{
    private readonly FoldGate _gate = new();
    private readonly HistorianSignal _signal = new();

    [Fact]
    public async Task Who_waits_wakes_when_the_log_grows_or_the_gate_is_moved_and_not_else()
    {
        var (moved, waiting) = Wait();
        _gate.Open();
        Assert.False(waiting.IsCompleted);
        _gate.Set(5, long.MaxValue);
        await waiting;
        Assert.True(moved.IsCompleted);

        (_, waiting) = Wait();
        _gate.Set(5, long.MaxValue);
        Assert.False(waiting.IsCompleted);
        _signal.Publish(1);
        await waiting;

        using var stop = new CancellationTokenSource();
        var cancelled = FoldGate.WaitAsync(_signal, 1, _gate.Moved, stop.Token);
        await stop.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => cancelled);
    }

    [Fact]
    public void What_is_left_out_begins_behind_one_entry_and_ends_with_another()
    {
        Assert.False(_gate.IsLeftOut(3));
        _gate.LeaveOut([new LogRange(2, 4), new LogRange(8, 9)]);
        Assert.Equal([3L, 4L, 9L], Enumerable.Range(1, 12).Select(i => (long)i).Where(_gate.IsLeftOut));
    }

    private (Task Moved, Task Waiting) Wait() => (_gate.Moved, FoldGate.WaitAsync(_signal, _signal.Last, _gate.Moved, CancellationToken.None));
}
