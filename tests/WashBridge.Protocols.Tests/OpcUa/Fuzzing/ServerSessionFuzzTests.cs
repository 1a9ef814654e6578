using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Server;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// The services, sessions and subscriptions of our server, in virtual time, against clients that send every kind of request with random fields, some of
/// them mutated: no request fails for a reason of ours, what clients make the server keep stays within its limits and is gone once they are.
/// </summary>
public sealed class ServerSessionFuzzTests(ITestOutputHelper log)
{
    private const int Connections = 3;
    private const int Variables = 40;

    /// <summary>For one request with its answers: 100 nodes to read, 50 to browse.</summary>
    private const int MostBytes = 8 * 1024 * 1024;

    private static readonly DecodingLimits Decoding = new() { MaxArrayLength = 10_000, MaxStringLength = 20_000, MaxDecodedBytes = 512 * 1024 };

    private static readonly UaServerLimits Limits = new()
    {
        MaxSessions = 10,
        MaxUnactivatedSessions = 4,
        MaxSubscriptionsPerSession = 5,
        MaxSubscriptions = 20,
        MaxMonitoredItemsPerSubscription = 50,
        MaxMonitoredItems = 400,
        MaxQueueSize = 20,
        MaxQueuedValuesPerSubscription = 1000,
        MaxPublishRequestsPerSession = 10,
        MaxRetransmissionMessages = 5,
        MaxNodesPerRead = 100,
        MaxNodesPerBrowse = 50,
        MaxBrowseContinuationPoints = 5,
        MaxReferencesPerNode = 10,
        LoginDelay = TimeSpan.Zero,
    };

    [Fact]
    public async Task Clients_of_any_behaviour_get_answers_and_no_more_than_the_limits()
    {
        var run = new FuzzRun(log, 30_000);
        var clients = new Clients(run.Random);
        await run.ForEachAsync(clients.Next, clients.Send);
        log.WriteLine($"{clients.Good} requests answered well, {clients.Bad} refused, {clients.Published} published");
        Assert.NotEqual(0, clients.Good);
        Assert.NotEqual(0, clients.Bad);
        Assert.NotEqual(0, clients.Published);
        clients.GoAway();
    }

    private sealed class Clients
    {
        private static readonly MessageKind[] Kinds = [.. MessageKind.All.Where(kind => kind.EncodingId != 0 && kind.Type.Name.EndsWith("Request", StringComparison.Ordinal))];

        private readonly Random random;
        private readonly Mutator mutator;
        private readonly RandomMessages messages;
        private readonly ServerFixture fixture = new(Limits);
        private readonly Connection[] connections;
        private readonly UaVariable[] variables;
        private Connection connection;
        private NodeId sent;
        private bool isWhole;
        private uint lastRequest;

        public Clients(Random random)
        {
            this.random = random;
            mutator = new Mutator(random);
            messages = new RandomMessages(random);
            connections = [.. Enumerable.Range(0, Connections).Select(_ => new Connection(this))];
            connection = connections[0];
            variables = [.. Enumerable.Range(0, Variables).Select(i => fixture.Variable($"V{i}", i % 2 == 0 ? BuiltInType.Double : BuiltInType.Int32, i % 3 == 0 ? new EURange(0, 100) : null))];
            foreach (var variable in variables)
            {
                messages.Know("NodeId", variable.Id);
            }

            messages.Know("AttributeId", AttributeIds.Value);
            messages.Know("NodeId", new NodeId(85));
            messages.Know("NodeId", new NodeId(2253));
            messages.Know("ReferenceTypeId", new NodeId(33));
            messages.Know("ViewId", NodeId.Null);
            messages.Know("IndexRange", "");
            messages.Know("DataEncoding", default(QualifiedName));
            messages.Know("Filter", default(ExtensionObject));
            messages.Know("Filter", ExtensionObject.Of(new DataChangeFilter(DataChangeTrigger.StatusValue, DeadbandKind.Percent, 5)));
            messages.Know("RequestedPublishingInterval", 100d);
            messages.Know("SamplingInterval", 0d);
            messages.Know("MaxAge", 0d);
            messages.Know("PublishingEnabled", true);
        }

        public int Good { get; private set; }

        public int Bad { get; private set; }

        public int Published { get; private set; }

        public byte[] Next()
        {
            connection = connections[random.Next(Connections)];

            // Sessions are made where there is none, then used, and ended now and then.
            var kind = (connection.Tokens.Count == 0 && random.Next(4) == 0) || random.Next(200) == 0 ? KindOf<CreateSessionRequest>()
                : random.Next(50) == 0 ? KindOf<ActivateSessionRequest>()
                : random.Next(8) == 0 ? KindOf<PublishRequest>()
                : Kinds[random.Next(Kinds.Length)];
            if (kind == KindOf<CloseSessionRequest>() && random.Next(20) > 0)
            {
                kind = KindOf<CreateSubscriptionRequest>();
            }

            using var writer = new UaWriter();
            writer.WriteNodeId(new NodeId(kind.EncodingId));
            sent = Token();
            new RequestHeader(sent, ServerFixture.Start, (uint)random.Next(), random.Next(2) == 0 ? 0 : (uint)random.Next(5000)).Write(writer);
            IStructure request = random.Next(4) == 0 ? messages.Make(kind)
                : kind.Type == typeof(CreateSessionRequest) ? ServerFixture.SessionRequest()
                : kind.Type == typeof(ActivateSessionRequest) ? ServerFixture.Activation()
                : messages.Make(kind);
            request.Write(writer);
            byte[] bytes = [.. writer.Written];
            isWhole = random.Next(4) > 0;
            return isWhole ? bytes : mutator.Mutate(bytes, bytes);
        }

        public void Send(byte[] bytes)
        {
            var before = GC.GetAllocatedBytesForCurrentThread();
            Answer(bytes);
            if (random.Next(3) == 0)
            {
                fixture.Advance(random.Next(2000) == 0 ? random.Next(4_000_000) : random.Next(200));
            }

            if (random.Next(3) == 0)
            {
                Change(variables[random.Next(Variables)]);
            }

            Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, MostBytes);
            Assert.InRange(fixture.Host.Sessions.Count, 0, Limits.MaxSessions);
            Assert.InRange(fixture.Subscriptions.Count, 0, Limits.MaxSubscriptions);
        }

        /// <summary>No client says anything any more.</summary>
        public void GoAway()
        {
            for (var minutes = 0; minutes < 300; minutes += 5)
            {
                fixture.Advance(TimeSpan.FromMinutes(5).TotalMilliseconds);
                fixture.Host.Sessions.Sweep();
            }

            Assert.Equal((0, 0), (fixture.Host.Sessions.Count, fixture.Subscriptions.Count));
        }

        private static MessageKind KindOf<T>() => Kinds.First(kind => kind.Type == typeof(T));

        /// <summary>Of a session that was made lately, mostly on the same connection.</summary>
        private NodeId Token()
        {
            var tokens = (random.Next(10) == 0 ? connections[random.Next(Connections)] : connection).Tokens;
            return tokens.Count == 0 || random.Next(20) == 0 ? new NodeId(0, (uint)random.Next()) : tokens[^(1 + random.Next(Math.Min(tokens.Count, 2)))];
        }

        private void Answer(byte[] bytes)
        {
            IncomingRequest request;
            try
            {
                request = new IncomingRequest(++lastRequest, bytes, Decoding, 0);
            }
            catch (UaException e)
            {
                Assert.True(e.Status == StatusCodes.BadDecodingError || e.Status == StatusCodes.BadEncodingLimitsExceeded, e.Message);
                return;
            }

            using (request)
            {
                var answering = fixture.Host.AnswerAsync(connection, request, CancellationToken.None).AsTask();
                Assert.True(answering.IsCompleted, "the server waits");
                answering.GetAwaiter().GetResult();
            }
        }

        private void Change(UaVariable variable)
        {
            var value = random.NextDouble() * 100;
            if (fixture.Space.Find(variable.Id) == variable)
            {
                variable.Set(variable.Definition.Type == BuiltInType.Double ? value : (Variant)(int)value, random.Next(5) == 0 ? StatusCodes.BadSensorFailure : StatusCodes.Good);
            }

            if (random.Next(100) == 0)
            {
                var i = Array.IndexOf(variables, variable);
                fixture.Space.Remove(variable);
                variables[i] = fixture.Variable($"V{i}", variable.Definition.Type, variable.Definition.Range);
            }
        }

        private void Note(Connection to, StatusCode status, IStructure body)
        {
            Assert.NotEqual(StatusCodes.BadInternalError, status);
            Assert.NotEqual(StatusCodes.BadUnexpectedError, status);
            MessageKind.Encode(body);
            if (isWhole && (status == StatusCodes.BadSessionIdInvalid || body is CloseSessionResponse))
            {
                to.Tokens.Remove(sent);
            }

            Good += status.IsGood ? 1 : 0;
            Bad += status.IsBad ? 1 : 0;
            switch (body)
            {
                case CreateSessionResponse created:
                    to.Tokens.Add(created.AuthenticationToken);
                    break;
                case CreateSubscriptionResponse created:
                    messages.Know("SubscriptionId", created.SubscriptionId);
                    break;
                case CreateMonitoredItemsResponse created:
                    foreach (var item in created.Results.Where(item => item.Status.IsGood))
                    {
                        messages.Know("MonitoredItemId", item.MonitoredItemId);
                    }

                    break;
                case BrowseResponse browsed:
                    foreach (var result in browsed.Results.Where(result => result.ContinuationPoint is { Length: > 0 }))
                    {
                        messages.Know("ContinuationPoint", result.ContinuationPoint!);
                    }

                    break;
                case PublishResponse published:
                    Published++;
                    messages.Know("RetransmitSequenceNumber", published.Message.SequenceNumber);
                    messages.Know("SequenceNumber", published.Message.SequenceNumber);
                    break;
            }
        }

        private sealed class Connection(Clients clients) : IServerConnection
        {
            public List<NodeId> Tokens { get; } = [];

            public SecurityPolicy Policy => SecurityPolicy.None;

            public MessageSecurityMode Mode => MessageSecurityMode.None;

            public ReadOnlyMemory<byte> ClientCertificate => default;

            public string Address => "192.0.2.1";

            public bool HasSession { get; set; }

            public ValueTask SendAsync<TResponse>(uint requestId, ResponseHeader header, TResponse body, CancellationToken cancellation)
                where TResponse : IEncodable<TResponse>
            {
                clients.Note(this, header.ServiceResult, body);
                return ValueTask.CompletedTask;
            }

            public void Post<TResponse>(uint requestId, ResponseHeader header, TResponse body)
                where TResponse : IEncodable<TResponse> => clients.Note(this, header.ServiceResult, body);
        }
    }
}
