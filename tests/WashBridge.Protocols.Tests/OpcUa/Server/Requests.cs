using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Requests as a channel hands them over.</summary>
internal static class Requests
{
    /// <summary>A header and nothing else.</summary>
    public static IncomingRequest Empty(uint typeId, NodeId token)
    {
        using var writer = new UaWriter();
        writer.WriteNodeId(new NodeId(typeId));
        new RequestHeader(token, ServerFixture.Start, 1, 0).Write(writer);
        return new IncomingRequest(1, writer.Written, DecodingLimits.Default, 0);
    }

    public static IncomingRequest Of<T>(T body, NodeId token)
        where T : IEncodable<T>
    {
        using var writer = new UaWriter();
        writer.WriteNodeId(new NodeId(T.EncodingId));
        new RequestHeader(token, ServerFixture.Start, 1, 0).Write(writer);
        body.Write(writer);
        return new IncomingRequest(1, writer.Written, DecodingLimits.Default, 0);
    }
}
