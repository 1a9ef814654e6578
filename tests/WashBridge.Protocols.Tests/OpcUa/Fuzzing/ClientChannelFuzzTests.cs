using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// The client's channel against servers that mutate everything: acknowledge, opening, chunks and answers, without protection and, once the handshake
/// is done, under keys that they share with the client.
/// </summary>
public sealed class ClientChannelFuzzTests(ITestOutputHelper log)
{
    [Fact]
    public Task A_server_without_protection_can_do_no_harm() => RunAsync(SecurityPolicy.None, MessageSecurityMode.None, 40_000);

    [Fact]
    public Task A_server_that_signs_can_do_no_harm() => RunAsync(SecurityPolicy.Aes128Sha256RsaOaep, MessageSecurityMode.Sign, 10_000);

    [Fact]
    public Task A_server_that_encrypts_can_do_no_harm() => RunAsync(SecurityPolicy.Basic256Sha256, MessageSecurityMode.SignAndEncrypt, 10_000);

    /// <summary>The chunks are in order, so the channel goes on: only the request fails.</summary>
    [Fact]
    public async Task An_answer_of_variants_nested_without_end_fails_alone()
    {
        var server = new RawServer(new Random(1), SecurityPolicy.None, MessageSecurityMode.None, ChannelPair.ClientOptions(), TimeProvider.System);
        await using var channel = server.Open();
        var answer = channel.RequestAsync<ReadRequest, ReadResponse>(Messages.Read(1), NodeId.Null, Timeout.InfiniteTimeSpan, CancellationToken.None).AsTask();
        using var writer = new UaWriter();
        writer.WriteNodeId(new NodeId(ReadResponse.EncodingId));
        new ResponseHeader(DateTime.UnixEpoch, 2, StatusCodes.Good).Write(writer);
        writer.WriteInt32(1);
        writer.WriteByte(0x01);
        for (var i = 0; i < 1000; i++)
        {
            writer.WriteBytes([0x98, 1, 0, 0, 0]);
        }

        foreach (var chunk in server.Chunks.Genuine(writer.Written.ToArray(), 2))
        {
            server.Line.Push(chunk);
        }

        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, (await Assert.ThrowsAsync<UaException>(() => answer)).Status);
        Assert.False(channel.Closed.IsCompleted);
    }

    private async Task RunAsync(SecurityPolicy policy, MessageSecurityMode mode, int messages)
    {
        var run = new FuzzRun(log, messages);
        var server = new HostileServer(run.Random, policy, mode);
        await run.ForEachAsync(server.Next, server.Answer);
        log.WriteLine($"{server.Handshakes} handshakes, {server.Answered} requests answered, {server.Failed} failed, {server.Ends} channels ended");
        Assert.NotEqual(0, server.Answered);
        Assert.NotEqual(0, server.Failed);
        Assert.NotEqual(0, server.Ends);
    }
}
