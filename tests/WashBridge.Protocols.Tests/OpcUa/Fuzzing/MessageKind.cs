using System.Reflection;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>A structure of the library that has an encoding of its own: every one there is, found by reflection.</summary>
internal sealed class MessageKind
{
    private readonly Func<byte[], DecodingLimits, IStructure> decode;

    private MessageKind(Type type, Func<byte[], DecodingLimits, IStructure> decode) => (Type, this.decode) = (type, decode);

    public static IReadOnlyList<MessageKind> All { get; } =
    [
        .. typeof(UaReader).Assembly.GetTypes()
            .Where(type => !type.IsAbstract && type.GetInterfaces().Any(i => i.IsGenericType && i.GetGenericTypeDefinition() == typeof(IStructure<>)))
            .OrderBy(type => type.FullName, StringComparer.Ordinal)
            .Select(type => (MessageKind)typeof(MessageKind).GetMethod(nameof(Of), BindingFlags.NonPublic | BindingFlags.Static)!.MakeGenericMethod(type).Invoke(null, null)!),
    ];

    public Type Type { get; }

    /// <summary>0 for a structure that is only part of others.</summary>
    public uint EncodingId => (uint)(Type.GetProperty("EncodingId")?.GetValue(null) ?? 0u);

    public static byte[] Encode(IStructure message)
    {
        using var writer = new UaWriter();
        message.Write(writer);
        return writer.Written.ToArray();
    }

    /// <exception cref="UaException">Not such a message, or more than the limits allow.</exception>
    public IStructure Decode(byte[] bytes, DecodingLimits limits) => decode(bytes, limits);

    public override string ToString() => Type.Name;

    private static MessageKind Of<T>()
        where T : IStructure<T> => new(
            typeof(T),
            static (bytes, limits) =>
            {
                var reader = new UaReader(bytes, limits);
                var message = T.Read(ref reader);
                reader.ExpectEnd();
                return message;
            });
}
