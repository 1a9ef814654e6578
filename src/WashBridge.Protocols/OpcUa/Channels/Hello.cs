using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>The client's first message (OPC 10000-6, 7.1.2.3).</summary>
internal readonly record struct Hello(uint ProtocolVersion, uint ReceiveBufferSize, uint SendBufferSize, uint MaxMessageSize, uint MaxChunkCount, string? EndpointUrl)
{
    public const int MaxUrlBytes = 4096;

    /// <summary>A URL that is too long is to be read, so that it can be refused for what it is.</summary>
    public const int MaxBytes = 2 * MaxUrlBytes;

    public void Write(UaWriter writer)
    {
        var start = TransportMessage.Begin(writer);
        writer.WriteUInt32(ProtocolVersion);
        writer.WriteUInt32(ReceiveBufferSize);
        writer.WriteUInt32(SendBufferSize);
        writer.WriteUInt32(MaxMessageSize);
        writer.WriteUInt32(MaxChunkCount);
        writer.WriteString(EndpointUrl);
        TransportMessage.End(writer, start, ChunkType.Hello);
    }

    public static Hello Read(ReadOnlySpan<byte> chunk)
    {
        var reader = new UaReader(chunk[ChunkHeader.Bytes..], TransportMessage.Limits);
        return new Hello(reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadString());
    }
}

/// <summary>The server's answer (OPC 10000-6, 7.1.2.4). Sizes are the sender's own view.</summary>
internal readonly record struct Acknowledge(uint ProtocolVersion, uint ReceiveBufferSize, uint SendBufferSize, uint MaxMessageSize, uint MaxChunkCount)
{
    public void Write(UaWriter writer)
    {
        var start = TransportMessage.Begin(writer);
        writer.WriteUInt32(ProtocolVersion);
        writer.WriteUInt32(ReceiveBufferSize);
        writer.WriteUInt32(SendBufferSize);
        writer.WriteUInt32(MaxMessageSize);
        writer.WriteUInt32(MaxChunkCount);
        TransportMessage.End(writer, start, ChunkType.Acknowledge);
    }

    public static Acknowledge Read(ReadOnlySpan<byte> chunk)
    {
        var reader = new UaReader(chunk[ChunkHeader.Bytes..], TransportMessage.Limits);
        return new Acknowledge(reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadUInt32(), reader.ReadUInt32());
    }
}

/// <summary>Why a connection is about to be closed (OPC 10000-6, 7.1.2.5). The same two fields are the body of an abort chunk (6.7.3).</summary>
internal readonly record struct TransportError(StatusCode Status, string? Reason)
{
    public const int MaxReasonBytes = 4096;

    public void Write(UaWriter writer)
    {
        var start = TransportMessage.Begin(writer);
        writer.WriteStatusCode(Status);
        writer.WriteString(Reason);
        TransportMessage.End(writer, start, ChunkType.Error);
    }

    /// <summary>A reason longer than allowed is ignored, as the standard says.</summary>
    public static TransportError Read(ReadOnlySpan<byte> body)
    {
        var reader = new UaReader(body, TransportMessage.Limits);
        var status = reader.ReadStatusCode();
        try
        {
            return new TransportError(status, reader.ReadString());
        }
        catch (UaException)
        {
            return new TransportError(status, null);
        }
    }
}

internal static class TransportMessage
{
    public static readonly DecodingLimits Limits = new() { MaxStringLength = TransportError.MaxReasonBytes, MaxArrayLength = 0, MaxDecodedBytes = 2 * TransportError.MaxReasonBytes };

    public static int Begin(UaWriter writer)
    {
        var start = writer.Length;
        writer.Reserve(ChunkHeader.Bytes);
        return start;
    }

    public static void End(UaWriter writer, int start, ChunkType type) =>
        new ChunkHeader(type, (byte)'F', (uint)(writer.Length - start)).Write(writer.Slice(start, ChunkHeader.Bytes));
}
