using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Values set, nodes removed, items made and messages published by many threads at once: nothing is lost, nothing waits for ever.</summary>
public sealed class ManyThreadsTests
{
    private const int Rounds = 300;

    private readonly ServerFixture server = new(new UaServerLimits { MaxPublishRequestsPerSession = 1000 });

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_item_ends_with_the_last_value_that_was_set()
    {
        var variables = Enumerable.Range(0, 4).Select(i => server.Variable($"V{i}")).ToArray();
        var connections = Enumerable.Range(0, 4).Select(_ => new FakeConnection()).ToArray();
        var sessions = new List<(Session Session, FakeConnection Connection, uint Id)>();
        foreach (var connection in connections)
        {
            var session = await server.ConnectAsync(connection, timeout: 3_600_000);
            var id = server.Subscribe(session, interval: 20, keepAlive: 1, lifetime: 100_000).SubscriptionId;
            sessions.Add((session, connection, id));
            for (var i = 0; i < variables.Length; i++)
            {
                server.Monitor(session, id, variables[i].Id, queue: 3, handle: (uint)i);
            }
        }

        var setting = variables.Select(variable => Task.Run(() =>
        {
            for (var i = 0; i <= Rounds * 10; i++)
            {
                variable.Set((double)i);
            }
        }));
        var churning = sessions.Select(client => Task.Run(() =>
        {
            for (var i = 0; i < Rounds; i++)
            {
                var item = server.Monitor(client.Session, client.Id, variables[i % 4].Id, handle: 100).MonitoredItemId;
                server.Subscriptions.SetMonitoringMode(client.Session, new SetMonitoringModeRequest(client.Id, MonitoringMode.Disabled, [item]));
                server.Subscriptions.SetMonitoringMode(client.Session, new SetMonitoringModeRequest(client.Id, MonitoringMode.Reporting, [item]));
                server.Publish(client.Session, client.Connection);
                server.Subscriptions.DeleteItems(client.Session, new DeleteMonitoredItemsRequest(client.Id, [item]));
            }
        }));
        var nodes = Task.Run(() =>
        {
            for (var i = 0; i < Rounds; i++)
            {
                server.Space.Remove(server.Space.AddVariable(server.Space.Objects, server.Id("comes and goes"), "x", new VariableDefinition(BuiltInType.Double)));
            }
        });
        var ticking = Task.Run(() =>
        {
            for (var i = 0; i < Rounds; i++)
            {
                server.Advance(20);
            }
        });
        await Task.WhenAll([.. setting, .. churning, nodes, ticking]).WaitAsync(TimeSpan.FromMinutes(1), Cancellation);

        foreach (var (session, connection, _) in sessions)
        {
            for (var i = 0; i < 5; i++)
            {
                server.Publish(session, connection);
                server.Advance(20);
            }

            var last = new Dictionary<uint, double>();
            foreach (var item in connection.TakeAll().Select(answer => answer.Body).OfType<PublishResponse>()
                .SelectMany(response => response.Message.Notifications).OfType<DataChangeNotification>().SelectMany(change => change.Items))
            {
                Assert.True(item.ClientHandle == 100 || !last.TryGetValue(item.ClientHandle, out var before) || item.Value.Value.As<double>() >= before);
                last[item.ClientHandle] = item.Value.Value.As<double>();
            }

            Assert.Equal(Enumerable.Repeat(Rounds * 10.0, 4), Enumerable.Range(0, 4).Select(i => last[(uint)i]));
        }
    }
}
