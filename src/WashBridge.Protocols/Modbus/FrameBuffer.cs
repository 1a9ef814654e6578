using System.Buffers.Binary;

namespace WashBridge.Protocols.Modbus;

internal enum FrameState
{
    Incomplete = 0,
    Complete = 1,

    /// <summary>Where the next message begins is unknown: only closing the connection helps.</summary>
    Lost = 2,
}

/// <summary>
/// Finds messages in a byte stream, however it was cut or joined on its way. Holds a bounded number of bytes;
/// a length is judged as soon as its two bytes are there, before anything waits for what it promises.
/// </summary>
/// <param name="minimumPdu">Shortest PDU that means something: 1 for a request, 2 for a reply.</param>
internal sealed class FrameBuffer(int minimumPdu)
{
    private const int Capacity = 16 * Mbap.MaxAdu;

    private readonly byte[] bytes = new byte[Capacity];
    private int start;
    private int end;

    /// <summary>Bytes of a message whose rest has not come yet.</summary>
    public int Pending => end - start;

    /// <summary>Where to receive to. Never empty once every complete message has been taken.</summary>
    public Memory<byte> Free()
    {
        if (start == end)
        {
            start = end = 0;
        }
        else if (Capacity - end < Mbap.MaxAdu)
        {
            bytes.AsSpan(start, end - start).CopyTo(bytes);
            end -= start;
            start = 0;
        }

        return bytes.AsMemory(end);
    }

    public void Received(int count) => end += count;

    /// <summary>Takes the next message if it is complete. Its PDU is valid until <see cref="Free"/> is called.</summary>
    /// <param name="reason">For <see cref="FrameState.Lost"/>: what was found and what is allowed.</param>
    public FrameState TryTake(out Mbap header, out ReadOnlySpan<byte> pdu, out string reason)
    {
        header = default;
        pdu = default;
        reason = "";
        var waiting = bytes.AsSpan(start, end - start);
        if (waiting.Length >= 4 && BinaryPrimitives.ReadUInt16BigEndian(waiting[2..]) is not 0 and var protocol)
        {
            reason = $"protocol id {protocol} instead of 0";
            return FrameState.Lost;
        }

        if (waiting.Length >= Mbap.Prefix
            && BinaryPrimitives.ReadUInt16BigEndian(waiting[4..]) is var length
            && (length < minimumPdu + 1 || length > Mbap.MaxPdu + 1))
        {
            reason = $"length {length} instead of {minimumPdu + 1} to {Mbap.MaxPdu + 1}";
            return FrameState.Lost;
        }

        if (waiting.Length < Mbap.Size || waiting.Length < Mbap.Prefix + BinaryPrimitives.ReadUInt16BigEndian(waiting[4..]))
        {
            return FrameState.Incomplete;
        }

        header = Mbap.Read(waiting);
        pdu = waiting[Mbap.Size..(Mbap.Prefix + header.Length)];
        start += Mbap.Prefix + header.Length;
        return FrameState.Complete;
    }
}
