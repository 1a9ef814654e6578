using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

internal sealed partial class ScriptedServer
{
    private readonly Dictionary<NodeId, ScriptedSession> sessions = [];

    public int SessionCount => sessions.Count;

    /// <summary>What a session's creation answers besides the default; for what only a secured server says.</summary>
    public Func<CreateSessionRequest, CreateSessionResponse, CreateSessionResponse> OnCreated { get; set; } = static (_, response) => response;

    /// <summary>That the activations of sessions brought.</summary>
    public List<byte[]> Nonces { get; } = [];

    public void ForgetSessions() => sessions.Clear();

    private CreateSessionResponse Create(CreateSessionRequest request, ScriptedChannel channel)
    {
        var token = new NodeId(0, Guid.NewGuid());
        sessions.Add(token, new ScriptedSession(token) { Channel = channel });
        return OnCreated(request, new CreateSessionResponse(
            new NodeId(1, ++lastId), token, Math.Min(request.RequestedSessionTimeout, SessionTimeout.TotalMilliseconds), new byte[32], null, [.. Endpoints], new SignatureData(null, null), 0));
    }

    private ActivateSessionResponse Activate(ActivateSessionRequest request, ScriptedChannel channel, NodeId token)
    {
        if (!sessions.TryGetValue(token, out var session))
        {
            throw Refusal(StatusCodes.BadSessionIdInvalid);
        }

        if (session.Channel != channel)
        {
            session.Waiting.Clear();
        }

        session.Channel = channel;
        session.IsActive = true;
        Nonces.Add([.. Enumerable.Repeat((byte)++lastId, 32)]);
        return new ActivateSessionResponse(Nonces[^1], []);
    }

    private CloseSessionResponse Close(ScriptedSession session)
    {
        sessions.Remove(session.Token);
        foreach (var subscription in subscriptions.Values.Where(s => s.Session == session).ToArray())
        {
            subscriptions.Remove(subscription.Id);
        }

        return new CloseSessionResponse();
    }

    private ScriptedSession SessionOf(NodeId token, ScriptedChannel channel)
    {
        if (!sessions.TryGetValue(token, out var session))
        {
            throw Refusal(StatusCodes.BadSessionIdInvalid);
        }

        return session.Channel == channel && session.IsActive ? session : throw Refusal(StatusCodes.BadSessionNotActivated);
    }

    private ReadResponse Read(ReadRequest request, ScriptedSession session)
    {
        Assert.NotNull(session);
        CheckCount(request.Nodes.Count);
        return new ReadResponse([.. request.Nodes.Select(ValueOf)]);
    }

    private DataValue ValueOf(ReadValueId node)
    {
        Variant? standard = node.NodeId.Namespace == 0
            ? node.NodeId.Number switch
            {
                2255 => Variant.ArrayOf(Namespaces.ToArray()),
                2256 => ExtensionObject.Of(new ServerStatus(Now, Now, 0, new BuildInfo(null, null, null, null, null, default), 0, default)),
                11705 or 11710 or 11712 or 11714 when MaxOperations > 0 && TellsLimits => (uint)MaxOperations,
                _ => default(Variant?),
            }
            : default(Variant?);
        return standard is { } value ? new DataValue(value, default, null, Now)
            : Nodes.TryGetValue(node.NodeId, out var found) ? found with { ServerTimestamp = Now }
            : new DataValue(default, StatusCodes.BadNodeIdUnknown);
    }

    /// <summary>False: <see cref="MaxOperations"/> has to be found out.</summary>
    public bool TellsLimits { get; set; } = true;

    /// <summary>Targets by the names of a path, with / between them.</summary>
    public Dictionary<string, NodeId[]> Paths { get; } = [];

    private TranslateBrowsePathsResponse Translate(TranslateBrowsePathsRequest request)
    {
        CheckCount(request.Paths.Count);
        return new TranslateBrowsePathsResponse([.. request.Paths.Select(path =>
        {
            var name = string.Join('/', path.Elements.Select(e => e.TargetName));
            return Paths.TryGetValue(name, out var targets)
                ? new BrowsePathResult(StatusCodes.Good, [.. targets.Select(t => new BrowsePathTarget(t, uint.MaxValue))])
                : new BrowsePathResult(StatusCodes.BadNoMatch, []);
        })]);
    }

    internal sealed class ScriptedSession(NodeId token)
    {
        public NodeId Token => token;

        public ScriptedChannel? Channel { get; set; }

        public bool IsActive { get; set; }

        /// <summary>Publish requests, the oldest first.</summary>
        public Queue<Action<object>> Waiting { get; } = new();
    }
}
