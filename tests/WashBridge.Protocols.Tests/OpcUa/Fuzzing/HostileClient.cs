using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// Opens channels to our server in memory, and sends what it should not. Checks that the server ends a channel with a status that the standard has
/// for it, never with an unexpected error, and that no message makes it take more memory than its limits say.
/// </summary>
internal sealed class HostileClient
{
    private const int Overhead = 64 * 1024;

    private static readonly DecodingLimits Decoding = new() { MaxArrayLength = 10_000, MaxStringLength = 20_000, MaxDecodedBytes = 256 * 1024 };
    private static readonly TransportLimits Limits = new() { ReceiveBufferSize = 8192, SendBufferSize = 8192, MaxMessageSize = 64 * 1024, MaxChunkCount = 64 };

    private readonly Random random;
    private readonly Mutator mutator;
    private readonly SecurityPolicy policy;
    private readonly MessageSecurityMode mode;
    private readonly int oneInRules;
    private readonly ServerChannelOptions options;
    private readonly FakeTimeProvider time = new();

    private RawClient client = null!;
    private ServerChannel? channel;
    private Task<IncomingRequest?> receiving = Task.FromResult<IncomingRequest?>(null);
    private uint request;

    public HostileClient(Random random, SecurityPolicy policy, MessageSecurityMode mode)
    {
        (this.random, this.policy, this.mode) = (random, policy, mode);
        mutator = new Mutator(random);

        // What breaks the rules of chunks ends the channel, and another handshake with private keys takes long.
        oneInRules = policy.IsNone ? 4 : 100;
        options = ChannelPair.ServerOptions(policy.IsNone ? null : policy, mode) with { Limits = Limits, Decoding = Decoding };
    }

    public int Handshakes { get; private set; }

    public int Served { get; private set; }

    public int Refused { get; private set; }

    public int Ends { get; private set; }

    /// <summary>Sends a message whose body was mutated. Some break the rules of chunks too, some those of the handshake.</summary>
    public void Send(byte[] body)
    {
        if (random.Next(10 * oneInRules) == 0)
        {
            End();
            Open(spoiled: true);
        }

        while (channel is null)
        {
            Open(spoiled: false);
        }

        request++;
        foreach (var piece in client.Chunks.Cut(random.Next(oneInRules) > 0 ? client.Chunks.Genuine(body, request) : random.Next(2) == 0 ? client.Chunks.Hostile(body, request) : client.Chunks.Tampered(body, request)))
        {
            Push(piece);
            if (channel is null)
            {
                return;
            }
        }
    }

    private void Push(byte[] piece)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        client.Line.Push(piece);
        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        Assert.InRange(allocated, 0, (4 * Limits.MaxMessageSize) + Decoding.MaxDecodedBytes + Overhead);
        while (receiving.IsCompleted)
        {
            if (receiving.Result is not { } incoming)
            {
                NoteEnd();
                return;
            }

            Serve(incoming);
            receiving = channel!.ReceiveAsync(CancellationToken.None).AsTask();
        }
    }

    private void Serve(IncomingRequest incoming)
    {
        using (incoming)
        {
            var status = StatusCodes.BadServiceUnsupported;
            var before = GC.GetAllocatedBytesForCurrentThread();
            try
            {
                RequestBodies.Read(incoming);
                Served++;
            }
            catch (UaException e) when (e.Status == StatusCodes.BadDecodingError || e.Status == StatusCodes.BadEncodingLimitsExceeded || e.Status == StatusCodes.BadServiceUnsupported)
            {
                Refused++;
                status = e.Status;
            }

            Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, Decoding.MaxDecodedBytes + (16 * Limits.MaxMessageSize) + Overhead);
            channel!.SendFaultAsync(incoming.RequestId, incoming.Header.Handle, status, CancellationToken.None).AsTask().GetAwaiter().GetResult();
            client.Line.Written.Clear();
        }
    }

    private void Open(bool spoiled)
    {
        Handshakes++;
        client = new RawClient(random, policy, mode, options, time);
        client.Connect();
        var part = random.Next(2);
        client.Line.Push(Spoil(RawClient.Hello(), spoiled && part == 0));
        if (!client.Accepting.IsCompleted)
        {
            client.Line.Push(Spoil(client.OpenRequest(TokenRequestType.Issue, 0, 1), spoiled && part == 1));
            if (client.Accepting.IsCompletedSuccessfully)
            {
                client.Begin();
                channel = client.Accepting.Result;
                receiving = channel.ReceiveAsync(CancellationToken.None).AsTask();
                return;
            }
        }

        client.Line.End();
        Assert.True(client.Accepting.IsCompleted, "the server waits although the client is gone");
        Check(Assert.IsType<UaException>(client.Accepting.Exception?.InnerException));
    }

    private byte[] Spoil(byte[] chunk, bool spoiled) => spoiled ? mutator.Mutate(chunk, chunk) : chunk;

    private void End()
    {
        if (channel is not null)
        {
            client.Line.End();
            Assert.True(receiving.IsCompleted, "the server waits although the client is gone");
            Assert.Null(receiving.Result);
            NoteEnd();
        }
    }

    private void NoteEnd()
    {
        Ends++;
        Assert.True(channel!.Closed.IsCompletedSuccessfully, "the channel ended without a reason");
        Check(channel.Closed.Result);
        channel.DisposeAsync().AsTask().GetAwaiter().GetResult();
        channel = null;
    }

    private static void Check(UaException reason) => Assert.False(
        reason.Status == StatusCodes.BadUnexpectedError || reason.Status == StatusCodes.BadInternalError || reason.Status == StatusCodes.BadTimeout,
        reason.ToString());
}
