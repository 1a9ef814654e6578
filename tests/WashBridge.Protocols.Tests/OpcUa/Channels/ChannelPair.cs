using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Our client and our server, connected.</summary>
internal sealed class ChannelPair : IAsyncDisposable
{
    public static readonly Uri Endpoint = new("opc.tcp://localhost:4840/washbridge/tests");

    private static readonly Dictionary<int, (ApplicationCertificate Client, ApplicationCertificate Server)> Certificates = [];

    private ChannelPair(ClientChannel client, ServerChannel server) => (Client, Server) = (client, server);

    public ClientChannel Client { get; }

    public ServerChannel Server { get; }

    public static (ApplicationCertificate Client, ApplicationCertificate Server) CertificatesOf(int keyBits = 2048)
    {
        lock (Certificates)
        {
            if (!Certificates.TryGetValue(keyBits, out var pair))
            {
                Certificates[keyBits] = pair = (Make("client", keyBits), Make("server", keyBits));
            }

            return pair;
        }
    }

    public static ClientChannelOptions ClientOptions(SecurityPolicy? policy = null, MessageSecurityMode mode = MessageSecurityMode.None, int keyBits = 2048) => new()
    {
        Endpoint = Endpoint,
        Policy = policy ?? SecurityPolicy.None,
        Mode = mode,
        Certificate = policy is null ? null : CertificatesOf(keyBits).Client,
        ServerCertificate = policy is null ? default : CertificatesOf(keyBits).Server.Der,
    };

    public static ServerChannelOptions ServerOptions(SecurityPolicy? policy = null, MessageSecurityMode mode = MessageSecurityMode.None, int keyBits = 2048) => new()
    {
        Allowed = [new ChannelProtection(policy ?? SecurityPolicy.None, mode)],
        Certificate = policy is null ? null : CertificatesOf(keyBits).Server,
        ValidateClient = chain => chain.Span.SequenceEqual(CertificatesOf(keyBits).Client.Der.Span) ? StatusCodes.Good : StatusCodes.BadCertificateUntrusted,
    };

    public static Task<ChannelPair> OpenAsync(SecurityPolicy? policy = null, MessageSecurityMode mode = MessageSecurityMode.None, TimeProvider? time = null) =>
        OpenAsync(MemoryConnection.Create(), ClientOptions(policy, mode), ServerOptions(policy, mode), time);

    public static async Task<ChannelPair> OpenAsync(MemoryConnection connection, ClientChannelOptions client, ServerChannelOptions server, TimeProvider? time = null)
    {
        time ??= TimeProvider.System;
        var accept = ServerChannel.AcceptAsync(connection.Server, server, NullLogger.Instance, time, TestContext.Current.CancellationToken);
        var open = ClientChannel.OpenAsync(connection.Client, client, NullLogger.Instance, time, TestContext.Current.CancellationToken);
        return new ChannelPair(await open, await accept);
    }

    public static async Task<ChannelPair> OverSocketsAsync(ClientChannelOptions client, ServerChannelOptions server)
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var endpoint = new Uri($"opc.tcp://127.0.0.1:{((IPEndPoint)listener.LocalEndpoint).Port}/washbridge/tests");
        var open = ClientChannel.OpenAsync(client with { Endpoint = endpoint }, NullLogger.Instance, TimeProvider.System, TestContext.Current.CancellationToken);
        var socket = await listener.AcceptSocketAsync(TestContext.Current.CancellationToken);
        socket.NoDelay = true;
        var accepted = await ServerChannel.AcceptAsync(
            new NetworkStream(socket, ownsSocket: true), server, NullLogger.Instance, TimeProvider.System, TestContext.Current.CancellationToken);
        return new ChannelPair(await open, accepted);
    }

    /// <summary>Asks to read so many nodes.</summary>
    public Task<ServiceResponse<ReadResponse>> ReadAsync(int nodes = 1, TimeSpan? timeout = null, CancellationToken cancellation = default) =>
        Client.RequestAsync<ReadRequest, ReadResponse>(Messages.Read(nodes), new NodeId(0, 7), timeout ?? TimeSpan.FromSeconds(20), cancellation).AsTask();

    public async Task<IncomingRequest> ReceiveAsync() =>
        await Server.ReceiveAsync(TestContext.Current.CancellationToken) ?? throw new InvalidOperationException("the client is gone");

    /// <summary>Answers each read with the numbers of its nodes, until the client is gone.</summary>
    public async Task ServeAsync()
    {
        while (await Server.ReceiveAsync(TestContext.Current.CancellationToken) is { } request)
        {
            using (request)
            {
                await AnswerAsync(request);
            }
        }
    }

    public async Task AnswerAsync(IncomingRequest request)
    {
        var body = request.ReadBody<ReadRequest>();
        await Server.SendAsync(
            request.RequestId,
            new ResponseHeader(Messages.ServerTime, request.Header.Handle, StatusCodes.Good),
            new ReadResponse([.. body.Nodes.Select(node => new DataValue(node.NodeId.Number))]),
            TestContext.Current.CancellationToken);
    }

    public async ValueTask DisposeAsync()
    {
        await Client.DisposeAsync();
        await Server.DisposeAsync();
    }

    private static ApplicationCertificate Make(string name, int keyBits) => ApplicationCertificate.CreateSelfSigned(
        new CertificateRequestData { SubjectName = $"CN={name}", ApplicationUri = $"urn:washbridge:tests:{name}", DnsNames = ["localhost"], KeyBits = keyBits },
        TimeProvider.System);
}

internal static class Waiting
{
    /// <summary>What never comes fails the test instead of holding it up for ever. No test depends on how long this is.</summary>
    public static Task<T> Soon<T>(this Task<T> task) => task.WaitAsync(TimeSpan.FromMinutes(1));
}

internal static class Messages
{
    public static readonly DateTime ServerTime = new(2031, 4, 5, 6, 7, 8, DateTimeKind.Utc);

    public static ReadRequest Read(int nodes, uint first = 1) => new(
        0,
        TimestampsToReturn.Neither,
        [.. Enumerable.Range(0, nodes).Select(i => new ReadValueId(new NodeId(first + (uint)i), AttributeIds.Value, null, default))]);
}
