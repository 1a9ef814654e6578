using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Takes requests back that have not been answered (OPC 10000-4, 5.7.5).</summary>
/// <param name="RequestHandle">Of their headers.</param>
public sealed record CancelRequest(uint RequestHandle) : IRequest<CancelRequest, CancelResponse>
{
    public static uint EncodingId => 479;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(RequestHandle);
    }

    public static CancelRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32());
}

/// <summary>Answer to <see cref="CancelRequest"/>.</summary>
/// <param name="CancelCount">How many were.</param>
public sealed record CancelResponse(uint CancelCount) : IEncodable<CancelResponse>
{
    public static uint EncodingId => 482;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(CancelCount);
    }

    public static CancelResponse Read(ref UaReader reader) => new(
        reader.ReadUInt32());
}
