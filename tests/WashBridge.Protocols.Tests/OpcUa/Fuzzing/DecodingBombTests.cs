using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// Small messages that ask for much: refused with BadEncodingLimitsExceeded where a limit is passed (OPC 10000-6, 5.1.10 and 5.2.2.16) and
/// with BadDecodingError where the message contradicts itself, before the memory is taken.
/// </summary>
public sealed class DecodingBombTests
{
    private const int MaxMessage = 64 * 1024;
    private static readonly DecodingLimits Limits = new() { MaxArrayLength = 100_000, MaxStringLength = 50_000, MaxDecodedBytes = 1024 * 1024 };

    public static TheoryData<string, byte[], uint> Bombs => new()
    {
        { "variants of one variant each, a thousand deep", Repeat([0x98, 1, 0, 0, 0], 1000), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "data values and variants in one another, as deep as a message is long", Repeat([0x17, 0x01], MaxMessage / 2), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "diagnostics within diagnostics, as deep as a message is long", [0x19, .. Repeat([0x40], MaxMessage)], StatusCodes.BadEncodingLimitsExceeded.Value },
        { "an array longer than the limit", [0x86, .. BitConverter.GetBytes(100_001), 0], StatusCodes.BadEncodingLimitsExceeded.Value },
        { "the longest array there can be", [0x8B, .. BitConverter.GetBytes(int.MaxValue), 0], StatusCodes.BadEncodingLimitsExceeded.Value },
        { "an array longer than the message", [0x8B, .. BitConverter.GetBytes(100_000), 0], StatusCodes.BadDecodingError.Value },
        { "a string longer than the limit", [0x0C, .. BitConverter.GetBytes(50_001), 0], StatusCodes.BadEncodingLimitsExceeded.Value },
        { "a string longer than the message", [0x0C, .. BitConverter.GetBytes(50_000), 0], StatusCodes.BadDecodingError.Value },
        { "a byte string longer than the limit", [0x0F, .. BitConverter.GetBytes(int.MaxValue)], StatusCodes.BadEncodingLimitsExceeded.Value },
        { "variants that take 12 times their bytes", Array(0x18, 60_000, [0x00]), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "data values without anything", Array(0x17, 60_000, [0x00]), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "variants of data values without anything", Array(0x18, 30_000, [0x17, 0x00]), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "variants of texts without anything", Array(0x18, 30_000, [0x15, 0x00]), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "variants of the shortest node ids", Array(0x18, 20_000, [0x12, 0x00, 0x05]), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "diagnostics of nothing but an inner one", Array(0x19, 16_000, [0x40, 0x40, 0x40, 0x00]), StatusCodes.BadEncodingLimitsExceeded.Value },
        { "a matrix whose dimensions overflow to its length", [0xC6, 0, 0, 0, 0, 2, 0, 0, 0, 0, 0, 0, 0x80, 2, 0, 0, 0], StatusCodes.BadDecodingError.Value },
        { "a matrix of dimensions that multiply to more than 64 bits", [0xC6, 1, 0, 0, 0, 7, 0, 0, 0, 5, 0, 0, 0, .. Repeat([0xFF, 0xFF, 0xFF, 0x7F], 5)], StatusCodes.BadDecodingError.Value },
        { "a matrix with many dimensions", [0xC6, 1, 0, 0, 0, 7, 0, 0, 0, .. BitConverter.GetBytes(16_000), .. Repeat([1, 0, 0, 0], 16_000)], 0 },
    };

    [Theory]
    [MemberData(nameof(Bombs))]
    public void A_bomb_is_refused_with_its_status_and_without_the_memory(string what, byte[] bytes, uint status)
    {
        Assert.InRange(bytes.Length, 1, 2 * MaxMessage);
        var before = GC.GetAllocatedBytesForCurrentThread();
        var actual = Decode(bytes);
        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        Assert.True(actual == new StatusCode(status), $"{what}: {actual}");
        Assert.InRange(allocated, 0, Limits.MaxDecodedBytes + (64 * 1024));
    }

    /// <summary>The standard asks decoders for at least 100 levels (OPC 10000-6, 5.1.8).</summary>
    [Fact]
    public void Variants_a_hundred_deep_are_decoded() => Assert.Equal(StatusCodes.Good, Decode([.. Repeat([0x98, 1, 0, 0, 0], 99), 0x06, 1, 0, 0, 0]));

    private static StatusCode Decode(byte[] bytes)
    {
        try
        {
            var reader = new UaReader(bytes, Limits);
            reader.ReadVariant();
            return StatusCodes.Good;
        }
        catch (UaException e)
        {
            return e.Status;
        }
    }

    private static byte[] Array(byte type, int length, byte[] element) => [(byte)(0x80 | type), .. BitConverter.GetBytes(length), .. Repeat(element, length)];

    private static byte[] Repeat(byte[] piece, int times) => [.. Enumerable.Repeat(piece, times).SelectMany(bytes => bytes)];
}
