using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Fuzzing;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Mutated requests within a session: each is answered, and none with an internal error.</summary>
public sealed class ServiceFuzzTests(ITestOutputHelper log)
{
    private const int RequestsAServer = 500;

    private readonly FirstError errors = new();
    private readonly FakeConnection connection = new();

    [Fact]
    public async Task Every_request_is_answered_and_none_fails_for_a_reason_of_our_own()
    {
        var run = new FuzzRun(log, 20_000);
        var server = Start();
        var session = await server.ConnectAsync(connection);
        var corpus = Corpus(server).ToArray();
        var mutator = new Mutator(run.Random);
        var typeId = 0u;
        var count = 0;
        Dictionary<string, int> statuses = [];
        await run.ForEachAsync(
            () =>
            {
                var (id, body) = corpus[run.Random.Next(corpus.Length)];
                typeId = id;
                return mutator.Mutate(body, corpus[run.Random.Next(corpus.Length)].Body);
            },
            bytes =>
            {
                // The requests name the first subscriptions and items of a server.
                if (++count % RequestsAServer == 0)
                {
                    server = Start();
                }

                if (session.IsEnded || count % RequestsAServer == 0)
                {
                    session = server.ConnectAsync(connection).GetAwaiter().GetResult();
                }

                using var request = Request(typeId, session.AuthenticationToken, bytes);
                Assert.True(server.Host.AnswerAsync(connection, request, TestContext.Current.CancellationToken).AsTask().IsCompletedSuccessfully);
                server.Advance(10);
                foreach (var answer in connection.TakeAll())
                {
                    var name = answer.Status.ToString();
                    statuses[name] = statuses.GetValueOrDefault(name) + 1;
                }

                Assert.True(errors.First is null, errors.First?.ToString());
            });
        log.WriteLine(string.Join(Environment.NewLine, statuses.OrderByDescending(entry => entry.Value).Select(entry => $"{entry.Value} {entry.Key}")));
        Assert.True(statuses["Good"] > 1000);
        Assert.True(statuses["BadDecodingError"] > 1000);
    }

    private ServerFixture Start()
    {
        var server = new ServerFixture(logger: errors);
        server.Variable("V", range: new EURange(0, 100)).Set(1.5);
        server.Space.AddVariable(server.Space.Objects, server.Id("A"), "A", new VariableDefinition(BuiltInType.Int32) { ValueRank = 1, InitialValue = Variant.ArrayOf([1, 2, 3]) });
        return server;
    }

    private static IncomingRequest Request(uint typeId, NodeId token, byte[] body)
    {
        using var writer = new UaWriter();
        writer.WriteNodeId(new NodeId(typeId));
        new RequestHeader(token, ServerFixture.Start, 1, 0).Write(writer);
        writer.WriteBytes(body);
        return new IncomingRequest(1, writer.Written, new DecodingLimits { MaxDecodedBytes = 1024 * 1024 }, 0);
    }

    /// <summary>Requests that make sense here.</summary>
    private static IEnumerable<(uint TypeId, byte[] Body)> Corpus(ServerFixture server)
    {
        var filter = ExtensionObject.Of(new DataChangeFilter(DataChangeTrigger.StatusValue, DeadbandKind.Percent, 1));
        var item = new MonitoredItemCreateRequest(new ReadValueId(server.Id("V"), 13, null, default), MonitoringMode.Reporting, new MonitoringParameters(1, 10, filter, 5, true));
        var part = new MonitoredItemCreateRequest(new ReadValueId(server.Id("A"), 13, "0:1", default), MonitoringMode.Reporting, new MonitoringParameters(2, 10, default, 5, false));
        var view = new ViewDescription(default, default, 0);
        yield return Of(new ReadRequest(0, TimestampsToReturn.Both, [new(server.Id("A"), 13, "1:2", default), new(server.Id("V.EURange"), 13, null, new QualifiedName(0, "Default Binary")), new(new NodeId(2256), 13, null, default)]));
        yield return Of(new BrowseRequest(view, 2, [new(new NodeId(84), BrowseDirection.Both, new NodeId(33), true, 0, 63), new(server.Id("V"), BrowseDirection.Forward, default, false, 2, 63)]));
        yield return Of(new BrowseNextRequest(false, [[1, 0, 0, 0, 0, 0, 0, 0]]));
        yield return Of(new TranslateBrowsePathsRequest([new(new NodeId(85), [new(new NodeId(33), false, true, new QualifiedName(2, "V")), new(new NodeId(46), false, true, new QualifiedName(0, "EURange"))])]));
        yield return Of(new CreateSubscriptionRequest(100, 30, 10, 5, true, 1));
        yield return Of(new ModifySubscriptionRequest(1, 50, 60, 5, 0, 2));
        yield return Of(new SetPublishingModeRequest(true, [1, 2]));
        yield return Of(new DeleteSubscriptionsRequest([3]));
        yield return Of(new TransferSubscriptionsRequest([1, 2], true));
        yield return Of(new CreateMonitoredItemsRequest(1, TimestampsToReturn.Both, [item, part]));
        yield return Of(new ModifyMonitoredItemsRequest(1, TimestampsToReturn.Source, [new(1, item.Parameters), new(2, part.Parameters)]));
        yield return Of(new SetMonitoringModeRequest(1, MonitoringMode.Sampling, [1, 2]));
        yield return Of(new DeleteMonitoredItemsRequest(1, [3]));
        yield return Of(new PublishRequest([new(1, 1), new(1, 2)]));
        yield return Of(new PublishRequest([]));
        yield return Of(new RepublishRequest(1, 1));
        yield return Of(new RegisterNodesRequest([server.Id("V")]));
        yield return Of(new CancelRequest(1));
        yield return Of(ServerFixture.SessionRequest());
        yield return Of(ServerFixture.Activation(ExtensionObject.Of(new AnonymousIdentityToken("anonymous"))));
        yield return Of(new CloseSessionRequest(false));
        yield return Of(new GetEndpointsRequest("opc.tcp://127.0.0.1:4840", [], []));
        yield return Of(new FindServersRequest(null, [], []));

        static (uint, byte[]) Of<T>(T body)
            where T : IEncodable<T> => (T.EncodingId, MessageKind.Encode(body));
    }

    /// <summary>Keeps the first exception that is logged.</summary>
    private sealed class FirstError : ILogger
    {
        public Exception? First { get; private set; }

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) => First ??= exception;
    }
}
