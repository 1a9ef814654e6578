using CsCheck;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>
/// Whatever happens to connections, sessions, subscriptions and messages: what the listener is told is complete and in order, or it is told that it is not;
/// and once all is well again it is told the latest value.
/// </summary>
public sealed class ChaosTests
{
    private static readonly Gen<(Happening What, int HowLong)[]> GenStory = Gen.Select(Gen.Enum<Happening>(), Gen.Int[0, 400]).Array[1, 60];

    private enum Happening
    {
        Change,
        ChangeAgain,
        ChangeThatIsLost,
        KeepAlive,
        BrokenConnection,
        StalledConnection,
        Restart,
        ForgottenSession,
        ForgottenMessages,
        ForgottenSubscription,
        EndedSubscription,
        TransferSwitched,
        Unreachable,
        Reachable,
        RefusedPublishRequests,
        LostPublishAnswer,
        SlowNetwork,
        FastNetwork,
        NamespacesChanged,
        Pause,
    }

    [Fact]
    public void Nothing_is_lost_or_mixed_up_without_being_said() => GenStory.Sample(
        story =>
        {
            using var h = new Harness();
            h.Subscribe(Harness.Spec(Harness.Item(1)));
            var changes = 1.0;
            foreach (var (what, howLong) in story)
            {
                Happen(h, what, ref changes);
                h.Run(howLong / 1000.0);
            }

            Calm(h);
            h.Run(10);
            Change(h, ref changes, isLost: false);
            h.Until(() => h.Listener.ValuesOf(1).Contains(changes), "the latest value", seconds: 10);
            Assert.Equal(UaConnectionState.Connected, h.Connection.State);
            CheckOrder(h.Listener);
        },
        iter: 500);

    private static void Happen(Harness h, Happening what, ref double changes)
    {
        var subscription = h.Server.Subscriptions.Count > 0 ? h.Server.Subscription : null;
        switch (what)
        {
            case Happening.Change or Happening.ChangeAgain:
                Change(h, ref changes, isLost: false);
                break;
            case Happening.ChangeThatIsLost:
                Change(h, ref changes, isLost: true);
                break;
            case Happening.KeepAlive when subscription is not null:
                h.Server.KeepAlive(subscription);
                break;
            case Happening.BrokenConnection:
                h.Server.BreakAll();
                break;
            case Happening.StalledConnection when h.Server.Channels.Count > 0:
                h.Server.Channels[^1].IsStalled = true;
                break;
            case Happening.Restart:
                h.Server.Restart();
                break;
            case Happening.ForgottenSession:
                h.Server.ForgetSessions();
                break;
            case Happening.ForgottenMessages:
                subscription?.Kept.Clear();
                break;
            case Happening.ForgottenSubscription when subscription is not null:
                h.Server.Forget(subscription);
                break;
            case Happening.EndedSubscription when subscription is not null:
                h.Server.End(subscription, StatusCodes.BadTimeout);
                break;
            case Happening.TransferSwitched:
                h.Server.TransferIsRefused = !h.Server.TransferIsRefused;
                break;
            case Happening.Unreachable:
                h.Server.Unreachable = new UaException(StatusCodes.BadCommunicationError, "refused");
                break;
            case Happening.Reachable:
                h.Server.Unreachable = null;
                break;
            case Happening.RefusedPublishRequests:
                h.Server.AnswerWaiting(ScriptedServer.Refusal(StatusCodes.BadTooManyPublishRequests));
                break;
            case Happening.LostPublishAnswer when subscription is not null:
                h.Server.OnPublishAnswer = static _ => { };
                Change(h, ref changes, isLost: false);
                h.Server.OnPublishAnswer = null;
                break;
            case Happening.SlowNetwork:
                h.Server.Latency = TimeSpan.FromMilliseconds(150);
                break;
            case Happening.FastNetwork:
                h.Server.Latency = TimeSpan.Zero;
                break;
            case Happening.NamespacesChanged:
                h.Server.Namespaces.Add($"urn:added:{h.Server.Namespaces.Count}");
                break;
        }
    }

    private static void Change(Harness h, ref double changes, bool isLost)
    {
        h.Server.Nodes[Harness.Node(1)] = Harness.Value(++changes);
        if (h.Server.Subscriptions.Count == 0 || h.Server.Subscription.Items.Count == 0)
        {
            return; // an item that comes later begins with the latest value
        }

        if (isLost)
        {
            h.Server.Lose(h.Server.Subscription, (1, Harness.Value(changes)));
        }
        else
        {
            h.Server.Publish(h.Server.Subscription, (1, Harness.Value(changes)));
        }
    }

    private static void Calm(Harness h)
    {
        h.Server.Unreachable = null;
        h.Server.Latency = TimeSpan.Zero;
        h.Server.TransferIsRefused = false;
        for (var i = 0; i < 10; i++)
        {
            h.Run(2);
            if (h.Server.Subscriptions.Count > 0)
            {
                h.Server.KeepAlive(h.Server.Subscription);
            }
        }
    }

    private static void CheckOrder(Recorder listener)
    {
        var last = 0.0;
        foreach (var n in listener.Notifications.Where(n => n.Origin != NotificationOrigin.ReadAnew))
        {
            foreach (var value in n.Values.Select(v => v.Value.Value.As<double>()))
            {
                // A gap may be told where nothing was lost; a value may come twice as the first of a new subscription.
                Assert.True(n.Continuous ? value == last + 1 : value >= last, $"{value} after {last}:\n{string.Join('\n', listener.Events)}");
                last = value;
            }
        }

        // Interrupted and resumed take turns, and nothing is told in between but what the server sends again.
        var isInterrupted = true;
        foreach (var e in listener.Events)
        {
            Assert.True(e != "interrupted" || !isInterrupted, "interrupted twice");
            isInterrupted = e == "interrupted" || (isInterrupted && e is not ("resumed" or "begun anew"));
        }

        Assert.False(isInterrupted);
    }
}
