using System.Collections.Concurrent;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>A channel that keeps what is sent on it.</summary>
internal sealed class FakeConnection : IServerConnection
{
    private readonly ConcurrentQueue<Answer> answers = new();

    public SecurityPolicy Policy { get; init; } = SecurityPolicy.None;

    public MessageSecurityMode Mode { get; init; } = MessageSecurityMode.None;

    public ReadOnlyMemory<byte> ClientCertificate { get; init; }

    public string Address { get; init; } = "192.0.2.1";

    public bool HasSession { get; set; }

    public ValueTask SendAsync<TResponse>(uint requestId, ResponseHeader header, TResponse body, CancellationToken cancellation)
        where TResponse : IEncodable<TResponse>
    {
        Post(requestId, header, body);
        return ValueTask.CompletedTask;
    }

    public void Post<TResponse>(uint requestId, ResponseHeader header, TResponse body)
        where TResponse : IEncodable<TResponse> => answers.Enqueue(new Answer(requestId, header.ServiceResult, body));

    /// <summary>The next answer that was sent.</summary>
    public Answer Take() => answers.TryDequeue(out var answer) ? answer : throw new InvalidOperationException("no answer was sent");

    public IReadOnlyList<Answer> TakeAll()
    {
        List<Answer> all = [];
        while (answers.TryDequeue(out var answer))
        {
            all.Add(answer);
        }

        return all;
    }

    public PublishResponse TakePublish() => Assert.IsType<PublishResponse>(Take().Body);

    public void ExpectNothing() => Assert.Empty(answers);

    internal sealed record Answer(uint RequestId, StatusCode Status, object Body);
}
