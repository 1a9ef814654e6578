using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>Mutated requests or responses: type id, header, body.</summary>
internal sealed class MessageCorpus
{
    private const int Examples = 20;

    private readonly Random random;
    private readonly Mutator mutator;
    private readonly (MessageKind Kind, byte[][] Examples)[] messages;

    private MessageCorpus(Random random, string suffix, Func<uint, IStructure> header)
    {
        this.random = random;
        mutator = new Mutator(random);
        var make = new RandomMessages(random);
        messages =
        [
            .. MessageKind.All
                .Where(kind => kind.EncodingId != 0 && (kind.Type.Name.EndsWith(suffix, StringComparison.Ordinal) || kind.Type == typeof(ServiceFault)))
                .Select(kind => (kind, Enumerable.Range(0, Examples).Select(i => Whole(kind, header((uint)i), make.Make(kind))).ToArray())),
        ];
    }

    public static MessageCorpus Requests(Random random) =>
        new(random, "Request", handle => new RequestHeader(new NodeId(1, handle), DateTime.UnixEpoch, handle, 1000));

    public static MessageCorpus Responses(Random random) =>
        new(random, "Response", handle => new ResponseHeader(DateTime.UnixEpoch, handle, StatusCodes.Good));

    public byte[] Next() => mutator.Mutate(Any(), Any());

    /// <summary>A mutated answer to a request, or now and then to another one.</summary>
    public byte[] Next(string name) =>
        mutator.Mutate(random.Next(8) == 0 ? Any() : messages.First(m => m.Kind.Type.Name == name).Examples[random.Next(Examples)], Any());

    private byte[] Any() => messages[random.Next(messages.Length)].Examples[random.Next(Examples)];

    private static byte[] Whole(MessageKind kind, IStructure header, IStructure body)
    {
        using var writer = new UaWriter();
        writer.WriteNodeId(new NodeId(kind.EncodingId));
        header.Write(writer);
        body.Write(writer);
        return writer.Written.ToArray();
    }
}
