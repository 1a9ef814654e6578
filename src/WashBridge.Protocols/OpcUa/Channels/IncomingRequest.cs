using System.Buffers;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>A request that has come whole and genuine. Its bytes come from the pool and go back there when it is disposed of.</summary>
public sealed class IncomingRequest : IDisposable
{
    private readonly DecodingLimits limits;
    private readonly int bodyAt;
    private readonly int length;
    private byte[]? bytes;

    /// <exception cref="UaException">BadDecodingError, BadEncodingLimitsExceeded: not even its header can be read.</exception>
    internal IncomingRequest(uint requestId, ReadOnlySpan<byte> message, DecodingLimits limits, long received)
    {
        this.limits = limits;
        var reader = new UaReader(message, limits);
        RequestId = requestId;
        Received = received;
        TypeId = reader.ReadNodeId();
        Header = RequestHeader.Read(ref reader);
        bodyAt = reader.Position;
        length = message.Length;
        bytes = ArrayPool<byte>.Shared.Rent(length);
        message.CopyTo(bytes);
    }

    /// <summary>What the response must be sent with.</summary>
    public uint RequestId { get; }

    /// <summary>The id of the encoding of the body: which service is asked for.</summary>
    public NodeId TypeId { get; }

    public RequestHeader Header { get; }

    /// <summary>Stamp of the TimeProvider, of its first byte.</summary>
    public long Received { get; }

    /// <exception cref="UaException">BadDecodingError, BadEncodingLimitsExceeded; BadServiceUnsupported: it is no <typeparamref name="T"/>.</exception>
    public T ReadBody<T>()
        where T : IEncodable<T>
    {
        ObjectDisposedException.ThrowIf(bytes is null, this);
        if (TypeId != new NodeId(T.EncodingId))
        {
            throw new UaException(StatusCodes.BadServiceUnsupported, $"the request is of type {TypeId}, not i={T.EncodingId}");
        }

        var reader = new UaReader(bytes.AsSpan(bodyAt, length - bodyAt), limits);
        return T.Read(ref reader);
    }

    public void Dispose()
    {
        if (bytes is not null)
        {
            ArrayPool<byte>.Shared.Return(bytes);
            bytes = null;
        }
    }
}
