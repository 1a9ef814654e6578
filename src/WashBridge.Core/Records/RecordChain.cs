using System.Buffers.Binary;
using System.Security.Cryptography;

namespace WashBridge.Core.Records;

/// <summary>
/// The hash that links each record to all before it. The encoding is laid down in RECORDS.md, so that any program can recompute it.
/// </summary>
public static class RecordChain
{
    public const int HashBytes = 32;

    /// <summary>Names what is hashed and the version of the encoding: a hash of this chain is never one of anything else.</summary>
    private static ReadOnlySpan<byte> Tag => "WashBridge record 1\n"u8;

    /// <summary>What the first record follows.</summary>
    public static ReadOnlySpan<byte> Beginning => new byte[HashBytes];

    /// <param name="number">The record's number in the chain.</param>
    /// <param name="previous">Hash of the record before, or <see cref="Beginning"/>.</param>
    /// <param name="sequence">Its place in the log.</param>
    /// <param name="id">The event's id, UTF-8.</param>
    /// <param name="body">The event's JSON as it is stored, UTF-8.</param>
    public static byte[] Hash(long number, ReadOnlySpan<byte> previous, long sequence, ReadOnlySpan<byte> id, ReadOnlySpan<byte> body)
    {
        if (previous.Length != HashBytes)
        {
            throw new ArgumentException($"a hash has {HashBytes} bytes, found {previous.Length}", nameof(previous));
        }

        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        Span<byte> fixedNumber = stackalloc byte[sizeof(long)];
        hash.AppendData(Tag);
        Add(number, fixedNumber);
        hash.AppendData(previous);
        Add(sequence, fixedNumber);
        Add(id.Length, fixedNumber);
        hash.AppendData(id);
        Add(body.Length, fixedNumber);
        hash.AppendData(body);
        return hash.GetHashAndReset();

        void Add(long value, Span<byte> bytes)
        {
            BinaryPrimitives.WriteInt64LittleEndian(bytes, value);
            hash.AppendData(bytes);
        }
    }

    public static string Hex(ReadOnlySpan<byte> hash) => Convert.ToHexStringLower(hash);
}
