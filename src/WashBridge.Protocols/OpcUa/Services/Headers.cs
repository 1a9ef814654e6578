using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>A message body that follows a <see cref="RequestHeader"/> and is answered by a <typeparamref name="TResponse"/>.</summary>
public interface IRequest<TSelf, TResponse> : IEncodable<TSelf>
    where TSelf : IRequest<TSelf, TResponse>
    where TResponse : IEncodable<TResponse>;

/// <summary>In front of every request (OPC 10000-4, 7.33).</summary>
/// <param name="AuthenticationToken">Of the session; null outside of one.</param>
/// <param name="Timestamp">UTC, when the client sent the request.</param>
/// <param name="Handle">The client's number for the request.</param>
/// <param name="TimeoutHint">Milliseconds after which the client gives up; 0: never.</param>
public sealed record RequestHeader(NodeId AuthenticationToken, DateTime Timestamp, uint Handle, uint TimeoutHint) : IStructure<RequestHeader>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(AuthenticationToken);
        writer.WriteDateTime(Timestamp);
        writer.WriteUInt32(Handle);
        writer.WriteUInt32(0); // no diagnostics asked for
        writer.WriteString(null);
        writer.WriteUInt32(TimeoutHint);
        writer.WriteExtensionObject(default);
    }

    public static RequestHeader Read(ref UaReader reader)
    {
        var token = reader.ReadNodeId();
        var timestamp = reader.ReadDateTime();
        var handle = reader.ReadUInt32();
        reader.ReadUInt32(); // diagnostics are not offered
        reader.ReadString(); // audit entry id
        var timeoutHint = reader.ReadUInt32();
        reader.ReadExtension<object>(static (NodeId _, ref UaReader _) => null);
        return new RequestHeader(token, timestamp, handle, timeoutHint);
    }
}

/// <summary>In front of every response (OPC 10000-4, 7.34).</summary>
/// <param name="Timestamp">UTC, when the server sent the response.</param>
/// <param name="Handle">That of the request.</param>
/// <param name="ServiceResult">Of the service as a whole.</param>
public sealed record ResponseHeader(DateTime Timestamp, uint Handle, StatusCode ServiceResult) : IStructure<ResponseHeader>
{
    public void Write(UaWriter writer)
    {
        writer.WriteDateTime(Timestamp);
        writer.WriteUInt32(Handle);
        writer.WriteStatusCode(ServiceResult);
        writer.WriteDiagnosticInfo(null);
        writer.WriteInt32(0); // string table
        writer.WriteExtensionObject(default);
    }

    public static ResponseHeader Read(ref UaReader reader)
    {
        var timestamp = reader.ReadDateTime();
        var handle = reader.ReadUInt32();
        var result = reader.ReadStatusCode();
        reader.ReadDiagnosticInfo();
        reader.ReadArray(static (ref UaReader r) => r.ReadString());
        reader.ReadExtension<object>(static (NodeId _, ref UaReader _) => null);
        return new ResponseHeader(timestamp, handle, result);
    }
}

/// <summary>The answer to a request that failed as a whole: nothing but its header (OPC 10000-4, 7.35).</summary>
public sealed record ServiceFault : IEncodable<ServiceFault>
{
    public static uint EncodingId => 397;

    public void Write(UaWriter writer)
    {
    }

    public static ServiceFault Read(ref UaReader reader) => new();
}
