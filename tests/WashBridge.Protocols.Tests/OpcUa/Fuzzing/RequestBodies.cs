using System.Reflection;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>Reads the body of a request of any kind.</summary>
internal static class RequestBodies
{
    private static readonly Dictionary<NodeId, Func<IncomingRequest, IStructure>> Readers = MessageKind.All
        .Where(kind => kind.EncodingId != 0)
        .ToDictionary(
            kind => new NodeId(kind.EncodingId),
            kind => typeof(RequestBodies).GetMethod(nameof(ReadAs), BindingFlags.NonPublic | BindingFlags.Static)!
                .MakeGenericMethod(kind.Type).CreateDelegate<Func<IncomingRequest, IStructure>>());

    /// <exception cref="UaException">It cannot be understood.</exception>
    public static IStructure Read(IncomingRequest request) => Readers.TryGetValue(request.TypeId, out var read)
        ? read(request)
        : throw new UaException(StatusCodes.BadServiceUnsupported, $"{request.TypeId}");

    private static IStructure ReadAs<T>(IncomingRequest request)
        where T : IEncodable<T> => request.ReadBody<T>();
}
