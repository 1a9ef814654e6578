using System.Buffers.Binary;
using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.Modbus;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>What a request costs in memory.</summary>
[Collection(nameof(Alone))]
public sealed class AllocationTests
{
    /// <summary>The request's own state, its header, the answer's header and body with its 72 bytes a value; no buffer, no copy of a message.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(60)]
    [InlineData(500)]
    public async Task A_warm_read_allocates_its_result_and_little_else(int nodes)
    {
        using var peer = new ReadingPeer(nodes);
        await using var client = await peer.ConnectAsync();
        var request = Messages.Read(nodes);
        await ReadAsync(300);
        var least = long.MaxValue;
        for (var attempt = 0; attempt < 5; attempt++)
        {
            // Whatever else runs in this process allocates too: the best of a few attempts is the channel's own.
            var before = GC.GetTotalAllocatedBytes(precise: true);
            await ReadAsync(300);
            least = Math.Min(least, GC.GetTotalAllocatedBytes(precise: true) - before);
        }

        Assert.InRange(least / 300, 72 * nodes, (72 * nodes) + 500);

        async Task ReadAsync(int requests)
        {
            for (var i = 0; i < requests; i++)
            {
                await client.RequestAsync<ReadRequest, ReadResponse>(request, NodeId.Null, TimeSpan.FromSeconds(20), CancellationToken.None);
            }
        }
    }

    /// <summary>A server on a thread of its own that allocates nothing: it answers every request with the same values.</summary>
    private sealed class ReadingPeer : IDisposable
    {
        private const uint Channel = 5;

        private readonly Socket listener = new(SocketType.Stream, ProtocolType.Tcp);
        private readonly byte[] answer;

        public ReadingPeer(int nodes)
        {
            using var writer = new UaWriter();
            OutgoingMessages.Begin(writer);
            writer.WriteNodeId(new NodeId(ReadResponse.EncodingId));
            new ResponseHeader(default, 0, StatusCodes.Good).Write(writer);
            new ReadResponse([.. Enumerable.Range(0, nodes).Select(i => new DataValue(i))]).Write(writer);
            new ChunkHeader(ChunkType.Message, (byte)'F', (uint)writer.Length).Write(writer.Slice(0, ChunkHeader.Bytes));
            BinaryPrimitives.WriteUInt32LittleEndian(writer.Slice(SymmetricChunk.ChannelIdAt, 4), Channel);
            BinaryPrimitives.WriteUInt32LittleEndian(writer.Slice(SymmetricChunk.TokenIdAt, 4), 1);
            answer = writer.Written.ToArray();
            listener.Bind(new IPEndPoint(IPAddress.Loopback, 0));
            listener.Listen(1);
            new Thread(Serve) { IsBackground = true }.Start();
        }

        public Task<ClientChannel> ConnectAsync() => ClientChannel.OpenAsync(
            ChannelPair.ClientOptions() with { Endpoint = new Uri($"opc.tcp://127.0.0.1:{((IPEndPoint)listener.LocalEndPoint!).Port}") },
            NullLogger.Instance,
            TimeProvider.System,
            TestContext.Current.CancellationToken);

        public void Dispose() => listener.Dispose();

        private void Serve()
        {
            try
            {
                using var accepted = listener.Accept();
                accepted.NoDelay = true;
                var request = new byte[65_536];
                Receive(accepted, request);
                using var writer = new UaWriter();
                new Acknowledge(0, 65_536, 65_536, 0, 0).Write(writer);
                accepted.Send(writer.Written);
                Receive(accepted, request);
                SendToken(accepted, writer);
                for (uint sequence = 2; Receive(accepted, request); sequence++)
                {
                    BinaryPrimitives.WriteUInt32LittleEndian(answer.AsSpan(SymmetricChunk.SequenceAt), sequence);
                    request.AsSpan(SymmetricChunk.RequestIdAt, 4).CopyTo(answer.AsSpan(SymmetricChunk.RequestIdAt));
                    accepted.Send(answer);
                }
            }
            catch (SocketException)
            {
                // The test is over.
            }
        }

        private static void SendToken(Socket accepted, UaWriter writer)
        {
            using var body = new UaWriter();
            body.WriteNodeId(new NodeId(OpenSecureChannelResponse.EncodingId));
            new ResponseHeader(default, 1, StatusCodes.Good).Write(body);
            new OpenSecureChannelResponse(0, new ChannelSecurityToken(Channel, 1, default, 3_600_000), null).Write(body);
            using var open = new OpenChunk(WashBridge.Protocols.OpcUa.Security.SecurityPolicy.None, null, default);
            open.Write(writer, Channel, sequence: 1, request: 1, body.Written);
            accepted.Send(writer.Written);
        }

        private static bool Receive(Socket socket, byte[] buffer)
        {
            for (var received = 0; received < ChunkHeader.Bytes || received < ChunkHeader.Read(buffer).Size;)
            {
                var piece = socket.Receive(buffer.AsSpan(received));
                if (piece == 0)
                {
                    return false;
                }

                received += piece;
            }

            return true;
        }
    }
}
