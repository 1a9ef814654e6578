namespace WashBridge.Protocols.Tests.OpcUa.Server;

public sealed class SteppedTimeTests
{
    private readonly SteppedTime time = new(ServerFixture.Start);

    [Fact]
    public void Timers_fire_in_order_each_at_its_time()
    {
        var fired = new List<(string, double)>();
        using var twice = Timer("every 20", 20, 20);
        using var once = Timer("once", 30, -1);
        using var stopped = Timer("never", 5, 5);
        stopped.Dispose();
        time.Advance(TimeSpan.FromMilliseconds(45));

        Assert.Equal([("every 20", 20), ("once", 30), ("every 20", 40)], fired);
        Assert.Equal(ServerFixture.Start.AddMilliseconds(45), time.GetUtcNow().UtcDateTime);

        ITimer Timer(string name, double due, double period) => time.CreateTimer(
            _ => fired.Add((name, (time.GetUtcNow().UtcDateTime - ServerFixture.Start).TotalMilliseconds)), null, TimeSpan.FromMilliseconds(due), TimeSpan.FromMilliseconds(period));
    }

    /// <summary>With the library's fake time most callbacks ran on the reading thread, and one under a lock of the server stopped it for ever.</summary>
    [Fact]
    public void Reading_the_time_fires_no_timer()
    {
        const int Steps = 20_000;
        var here = Environment.CurrentManagedThreadId;
        var (fired, elsewhere, isOver) = (0, 0, false);
        using var timer = time.CreateTimer(
            _ =>
            {
                fired++;
                elsewhere += Environment.CurrentManagedThreadId == here ? 0 : 1;
            },
            null,
            TimeSpan.FromMilliseconds(20),
            TimeSpan.FromMilliseconds(20));
        var reading = new Thread(() =>
        {
            while (!Volatile.Read(ref isOver))
            {
                time.GetUtcNow();
                time.GetTimestamp();
            }
        });
        reading.Start();
        for (var i = 0; i < Steps; i++)
        {
            time.Advance(TimeSpan.FromMilliseconds(20));
        }

        Volatile.Write(ref isOver, true);
        reading.Join();
        Assert.Equal((Steps, 0), (fired, elsewhere));
    }
}
