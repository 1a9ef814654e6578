using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>The receiving end of a channel alone: chunks of a peer that has the keys but not the rules, and chunks that were changed on their way.</summary>
public sealed class ChunkFuzzTests(ITestOutputHelper log)
{
    private const uint ChannelId = 77;
    private const int Overhead = 32 * 1024;

    private static readonly TransportLimits Limits = new() { ReceiveBufferSize = 8192, MaxMessageSize = 64 * 1024, MaxChunkCount = 64 };

    /// <summary>The status codes with which a channel may end here (OPC 10000-6, 6.7.6 and 7.1.5).</summary>
    private static readonly StatusCode[] Refusals =
    [
        StatusCodes.BadTcpMessageTypeInvalid, StatusCodes.BadTcpMessageTooLarge, StatusCodes.BadTcpSecureChannelUnknown,
        StatusCodes.BadSecureChannelTokenUnknown, StatusCodes.BadSequenceNumberInvalid, StatusCodes.BadSecurityChecksFailed,
    ];

    [Fact]
    public Task Chunks_without_protection_are_put_together_or_refused() => RunAsync(SecurityPolicy.None, MessageSecurityMode.None);

    [Fact]
    public Task Signed_chunks_are_put_together_or_refused() => RunAsync(SecurityPolicy.Aes128Sha256RsaOaep, MessageSecurityMode.Sign);

    [Fact]
    public Task Encrypted_chunks_are_put_together_or_refused() => RunAsync(SecurityPolicy.Basic256Sha256, MessageSecurityMode.SignAndEncrypt);

    private async Task RunAsync(SecurityPolicy policy, MessageSecurityMode mode)
    {
        var run = new FuzzRun(log, 25_000);
        var corpus = MessageCorpus.Requests(run.Random);
        var security = new ChannelSecurity(policy, mode);
        var (taken, refused) = (0, 0);
        End? end = null;
        await run.ForEachAsync(corpus.Next, body =>
        {
            end ??= new End(run.Random, security);
            var (messages, refusal) = end.Take(body);
            taken += messages;
            if (refusal is not null)
            {
                Assert.Contains(refusal.Value, Refusals);
                refused++;
                end.Dispose();
                end = null;
            }
        });
        end?.Dispose();
        log.WriteLine($"{taken} messages taken, {refused} channels ended");
        Assert.NotEqual(0, taken);
        Assert.NotEqual(0, refused);
    }

    private sealed class End : IDisposable
    {
        private readonly Random random;
        private readonly ChannelSecurity security;
        private readonly HostileChunks sender;
        private readonly IncomingMessages messages;
        private readonly ReceiveBuffer buffer = new(Limits.ReceiveBufferSize);
        private readonly Dictionary<uint, byte[]> sent = [];
        private uint request;
        private bool wasHostile;

        public End(Random random, ChannelSecurity security)
        {
            (this.random, this.security) = (random, security);
            var time = new FakeTimeProvider();
            var token = new ChannelToken(1, Keys(security.Policy), Keys(security.Policy), time.GetTimestamp(), TimeSpan.FromHours(1));
            sender = new HostileChunks(random, security, token, ChannelId);
            messages = new IncomingMessages(security, Limits, time) { ChannelId = ChannelId };
            messages.Use(token);
        }

        /// <returns>Messages that came out, and the status that ends the channel.</returns>
        public (int Taken, StatusCode? Refusal) Take(byte[] body)
        {
            var kind = random.Next(3);
            sent[++request] = body;
            var chunks = kind == 0 ? sender.Genuine(body, request) : kind == 1 ? sender.Hostile(body, request) : sender.Tampered(body, request);
            byte[][] pieces = [.. sender.Cut(chunks)];
            var before = GC.GetAllocatedBytesForCurrentThread();
            var result = Take(pieces, isTampered: kind == 2);
            Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, (4 * Limits.MaxMessageSize) + Overhead);

            // After hostile chunks that were let pass, others may be waited for.
            wasHostile |= kind != 0;
            Assert.False(!wasHostile && result.Refusal is not null, $"a genuine message was refused: {result.Refusal}");
            return result;
        }

        public void Dispose()
        {
            messages.Dispose();
            buffer.Dispose();
        }

        private static ChannelKeys? Keys(SecurityPolicy policy) => policy.IsNone ? null : ChannelKeys.Derive(policy, new byte[policy.NonceBytes], new byte[policy.NonceBytes]);

        private (int Taken, StatusCode? Refusal) Take(byte[][] pieces, bool isTampered)
        {
            var taken = 0;
            try
            {
                foreach (var piece in pieces)
                {
                    for (var at = 0; at < piece.Length;)
                    {
                        var free = buffer.Free();
                        var count = Math.Min(free.Length, piece.Length - at);
                        piece.AsMemory(at, count).CopyTo(free);
                        buffer.Received(count, 0);
                        at += count;
                        taken += TakeChunks(isTampered);
                    }
                }

                return (taken, null);
            }
            catch (UaException e)
            {
                return (taken, e.Status);
            }
        }

        private int TakeChunks(bool isTampered)
        {
            var taken = 0;
            while (buffer.TryTake(out var header, out var chunk, out var received))
            {
                if (header.Type is not (ChunkType.Message or ChunkType.Close))
                {
                    throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, "not taken by this end");
                }

                if (messages.TryTake(header, chunk, received, out var message))
                {
                    taken++;

                    // It may be the message before: the one byte that was cut off its end can be the one that this one begins with.
                    Assert.False(isTampered && security.Signs && !message.Body.SequenceEqual(sent.GetValueOrDefault(message.Request)), "a signed message was changed on its way and taken");
                }
            }

            return taken;
        }
    }
}
