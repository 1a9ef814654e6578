using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// Lets our client open channels to it in memory, and answers what it should not. Checks that every request ends in an answer or in a known error,
/// and that no message makes the client take more memory than its limits say.
/// </summary>
internal sealed class HostileServer
{
    private const int Overhead = 64 * 1024;
    private const int MaxWaiting = 20;

    private static readonly DecodingLimits Decoding = new() { MaxArrayLength = 10_000, MaxStringLength = 20_000, MaxDecodedBytes = 256 * 1024 };
    private static readonly TransportLimits Limits = new() { ReceiveBufferSize = 8192, SendBufferSize = 8192, MaxMessageSize = 64 * 1024, MaxChunkCount = 64 };
    private static readonly TimeSpan NoTimeout = Timeout.InfiniteTimeSpan;

    private readonly Random random;
    private readonly Mutator mutator;
    private readonly SecurityPolicy policy;
    private readonly MessageSecurityMode mode;
    private readonly int oneInRules;
    private readonly ClientChannelOptions options;
    private readonly MessageCorpus corpus;
    private readonly FakeTimeProvider time = new();
    private readonly List<Task> waiting = [];

    private RawServer server = null!;
    private ClientChannel? channel;
    private (string Answer, Func<ClientChannel, Task> Ask) asked;

    public HostileServer(Random random, SecurityPolicy policy, MessageSecurityMode mode)
    {
        (this.random, this.policy, this.mode) = (random, policy, mode);
        mutator = new Mutator(random);
        corpus = MessageCorpus.Responses(random);
        oneInRules = policy.IsNone ? 4 : 100;
        options = ChannelPair.ClientOptions(policy.IsNone ? null : policy, mode) with { Limits = Limits, Decoding = Decoding };
    }

    public int Handshakes { get; private set; }

    public int Answered { get; private set; }

    public int Failed { get; private set; }

    public int Ends { get; private set; }

    /// <summary>What the client will ask next, and a mutated answer to it.</summary>
    public byte[] Next()
    {
        asked = Requests.Any(random);
        return corpus.Next(asked.Answer);
    }

    public void Answer(byte[] body)
    {
        if (random.Next(10 * oneInRules) == 0 || waiting.Count > MaxWaiting)
        {
            End();
            Open(spoiled: true);
        }

        while (channel is null)
        {
            Open(spoiled: false);
        }

        waiting.Add(asked.Ask(channel));
        server.Line.Written.Clear();
        var request = ++server.LastRequest;
        foreach (var piece in server.Chunks.Cut(random.Next(oneInRules) > 0 ? server.Chunks.Genuine(body, request) : random.Next(2) == 0 ? server.Chunks.Hostile(body, request) : server.Chunks.Tampered(body, request)))
        {
            var before = GC.GetAllocatedBytesForCurrentThread();
            server.Line.Push(piece);
            Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, (20 * Limits.MaxMessageSize) + Decoding.MaxDecodedBytes + Overhead);
        }

        if (server.Line.IsDisposed)
        {
            End();
        }
        else
        {
            waiting.RemoveAll(HasEnded);
        }
    }

    private void Open(bool spoiled)
    {
        Handshakes++;
        server = new RawServer(random, policy, mode, options, time);
        server.Connect();
        var part = random.Next(2);
        server.Line.Push(Spoil(RawServer.Acknowledge(), spoiled && part == 0));
        if (!server.Opening.IsCompleted && server.Line.Written.Count > 1)
        {
            server.Line.Push(Spoil(server.OpenResponse(), spoiled && part == 1));
            if (server.Opening.IsCompletedSuccessfully)
            {
                server.Begin();
                channel = server.Opening.Result;
                return;
            }
        }

        server.Line.End();
        Assert.True(server.Opening.IsCompleted, "the client waits although the server is gone");
        Check(Assert.IsAssignableFrom<UaException>(server.Opening.Exception?.InnerException));
    }

    private byte[] Spoil(byte[] chunk, bool spoiled) => spoiled ? mutator.Mutate(chunk, chunk) : chunk;

    private void End()
    {
        if (channel is null)
        {
            return;
        }

        Ends++;
        server.Line.End();
        Assert.True(channel.Closed.Wait(TimeSpan.FromSeconds(20)), "the channel has not ended although the server is gone");
        Check(channel.Closed.Result);
        foreach (var task in waiting)
        {
            Assert.True(Task.WhenAny(task).Wait(TimeSpan.FromSeconds(20)), "a request waits on a broken channel");
            HasEnded(task);
        }

        waiting.Clear();
        channel.DisposeAsync().AsTask().Wait();
        channel = null;
    }

    private bool HasEnded(Task request)
    {
        if (!request.IsCompleted)
        {
            return false;
        }

        if (request.IsCompletedSuccessfully)
        {
            Answered++;
            return true;
        }

        Failed++;
        Check(Assert.IsAssignableFrom<UaException>(request.Exception?.InnerException));
        return true;
    }

    /// <summary>What the server itself said may be any status; what the client says of itself may not.</summary>
    private static void Check(UaException reason)
    {
        if (reason is not UaServiceException && !reason.Message.Contains("the server closed the connection", StringComparison.Ordinal))
        {
            Assert.False(reason.Status == StatusCodes.BadUnexpectedError || reason.Status == StatusCodes.BadInternalError || reason.Status == StatusCodes.BadTimeout, reason.ToString());
        }
    }

    private static class Requests
    {
        private static readonly (string, Func<ClientChannel, Task>)[] All =
        [
            Of<GetEndpointsRequest, GetEndpointsResponse>(new GetEndpointsRequest("opc.tcp://localhost", [], [])),
            Of<ReadRequest, ReadResponse>(Messages.Read(3)),
            Of<BrowseRequest, BrowseResponse>(new BrowseRequest(new ViewDescription(NodeId.Null, DateTime.MinValue, 0), 0, [])),
            Of<BrowseNextRequest, BrowseNextResponse>(new BrowseNextRequest(false, [])),
            Of<CreateSubscriptionRequest, CreateSubscriptionResponse>(new CreateSubscriptionRequest(100, 30, 10, 0, true, 0)),
            Of<CreateMonitoredItemsRequest, CreateMonitoredItemsResponse>(new CreateMonitoredItemsRequest(1, TimestampsToReturn.Both, [])),
            Of<PublishRequest, PublishResponse>(new PublishRequest([])),
            Of<PublishRequest, PublishResponse>(new PublishRequest([])),
            Of<RepublishRequest, RepublishResponse>(new RepublishRequest(1, 1)),
            Of<TransferSubscriptionsRequest, TransferSubscriptionsResponse>(new TransferSubscriptionsRequest([1], true)),
            Of<CloseSessionRequest, CloseSessionResponse>(new CloseSessionRequest(true)),
        ];

        public static (string Answer, Func<ClientChannel, Task> Ask) Any(Random random) => All[random.Next(All.Length)];

        private static (string Answer, Func<ClientChannel, Task> Ask) Of<TRequest, TResponse>(TRequest request)
            where TRequest : IRequest<TRequest, TResponse>
            where TResponse : IEncodable<TResponse> =>
            (typeof(TResponse).Name, channel => channel.RequestAsync<TRequest, TResponse>(request, NodeId.Null, NoTimeout, CancellationToken.None).AsTask());
    }
}
