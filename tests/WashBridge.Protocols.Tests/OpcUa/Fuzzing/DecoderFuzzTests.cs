using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>The decoder of every message and structure, fed with mutated encodings.</summary>
public sealed class DecoderFuzzTests(ITestOutputHelper log)
{
    private const int Examples = 30;

    /// <summary>Beside what the limits count: the messages' own objects, and an exception with its text.</summary>
    private const int BytesAByte = 16;
    private const int Overhead = 32 * 1024;

    private static readonly DecodingLimits Limits = new() { MaxArrayLength = 10_000, MaxStringLength = 20_000, MaxDecodedBytes = 256 * 1024 };

    [Fact]
    public void Every_message_is_decoded_as_it_was_encoded()
    {
        var run = new FuzzRun(log, 0);
        var messages = new RandomMessages(run.Random);
        foreach (var kind in MessageKind.All)
        {
            for (var i = 0; i < Examples; i++)
            {
                var bytes = MessageKind.Encode(messages.Make(kind));
                Assert.True(bytes.AsSpan().SequenceEqual(MessageKind.Encode(kind.Decode(bytes, DecodingLimits.Default))), $"seed {run.Seed}, {kind}: {Convert.ToHexStringLower(bytes)}");
            }
        }
    }

    /// <summary>
    /// A mutated message is refused with one of the two status codes for it (OPC 10000-6, 5.1.10), or what it is decoded to can be encoded
    /// and decoded again. Neither takes more memory than the limits say.
    /// </summary>
    [Fact]
    public async Task A_mutated_message_is_decoded_within_the_limits_or_refused()
    {
        var run = new FuzzRun(log, 100_000);
        var messages = new RandomMessages(run.Random);
        var corpus = MessageKind.All.Select(kind => (kind, examples: Enumerable.Range(0, Examples).Select(_ => MessageKind.Encode(messages.Make(kind))).ToArray())).ToArray();
        var mutator = new Mutator(run.Random);
        var kind = corpus[0].kind;
        var refused = 0;
        await run.ForEachAsync(
            () =>
            {
                (kind, var examples) = corpus[run.Random.Next(corpus.Length)];
                return mutator.Mutate(examples[run.Random.Next(Examples)], corpus[run.Random.Next(corpus.Length)].examples[0]);
            },
            bytes => refused += Attempt(kind, bytes) ? 0 : 1);
        log.WriteLine($"{refused} refused");
        Assert.NotEqual(0, refused);
    }

    private static bool Attempt(MessageKind kind, byte[] bytes)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        IStructure? message = null;
        try
        {
            message = kind.Decode(bytes, Limits);
        }
        catch (UaException e) when (e.Status == StatusCodes.BadDecodingError || e.Status == StatusCodes.BadEncodingLimitsExceeded)
        {
            // Refused, as it should be.
        }

        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        var most = Limits.MaxDecodedBytes + ((long)BytesAByte * bytes.Length) + Overhead;
        Assert.True(allocated <= most, $"{kind}: {allocated} bytes allocated, at most {most} expected");
        if (message is null)
        {
            return false;
        }

        var again = MessageKind.Encode(message);
        Assert.True(again.AsSpan().SequenceEqual(MessageKind.Encode(kind.Decode(again, DecodingLimits.Default))), $"{kind}: encoded differently the second time");
        return true;
    }
}
