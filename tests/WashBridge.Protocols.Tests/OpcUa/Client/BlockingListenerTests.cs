using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>A listener that takes its time, on real threads.</summary>
public sealed class BlockingListenerTests
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    [Fact]
    public async Task It_does_not_keep_the_connection_from_coming_back()
    {
        using var h = new Harness();
        using var isIn = new ManualResetEventSlim();
        using var goOn = new ManualResetEventSlim();
        await using var connection = new UaConnection(h.Options, h.Server.OpenAsync, NullLogger.Instance, h.Time, new Random(1), TaskScheduler.Default);
        connection.Subscribe(Harness.Spec(), h.Listener);
        Assert.True(SpinWait.SpinUntil(() => h.Listener.Notifications.Count == 1 && h.Server.WaitingPublishRequests == 2, Patience));
        h.Listener.OnValues = told =>
        {
            if (told.SequenceNumber == 2)
            {
                isIn.Set();
                Assert.True(goOn.Wait(Patience));
            }
        };
        var publishing = Task.Run(() => h.Server.Publish(h.Server.Subscription, (1, Harness.Value(10))));
        Assert.True(isIn.Wait(Patience));
        h.Server.BreakAll();
        Assert.True(SpinWait.SpinUntil(() => connection.Counters.Connections == 2, Patience));
        Assert.Equal(2, h.Listener.Notifications.Count);
        Assert.Equal(UaConnectionState.Connected, connection.State);
        goOn.Set();
        await publishing;
        Assert.True(SpinWait.SpinUntil(() => h.Listener.Resumed.Count == 2, Patience));
        Assert.Equal(["begun anew", "Published 1 after a gap: 1=1 2=2", "Published 2: 1=10", "interrupted", "resumed"], h.Listener.Events);
    }
}
