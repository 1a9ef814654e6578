using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>
/// A server made of script: sessions, subscriptions and nodes in memory, published when the test says so. Whatever a test wants otherwise it answers itself
/// through <see cref="Intercept"/>.
/// </summary>
internal sealed partial class ScriptedServer(FakeTimeProvider time)
{
    public const string ApplicationUri = "urn:washbridge:tests:scripted";
    public const string PlantUri = "urn:washbridge:tests:plant";

    /// <summary>What <see cref="Intercept"/> returns for a request that is never answered.</summary>
    public static readonly object Never = new();

    private uint lastId;

    /// <summary>Every request in the order of arrival, with the channel it came on.</summary>
    public List<(ScriptedChannel Channel, object Body)> Requests { get; } = [];

    public List<ScriptedChannel> Channels { get; } = [];

    /// <summary>The way there and back.</summary>
    public TimeSpan Latency { get; set; }

    /// <summary>Ahead of our clock.</summary>
    public TimeSpan ClockOffset { get; set; }

    public DateTime Now => time.GetUtcNow().UtcDateTime + ClockOffset;

    /// <summary>Null: the default answer. An exception: the service fails. <see cref="Never"/>: no answer.</summary>
    public Func<object, object?> Intercept { get; set; } = static _ => null;

    /// <summary>Why no connection is accepted; null: they are.</summary>
    public UaException? Unreachable { get; set; }

    /// <summary>Connections are neither accepted nor refused.</summary>
    public bool AcceptsNothing { get; set; }

    public int ConnectionAttempts { get; private set; }

    public List<string?> Namespaces { get; } = ["http://opcfoundation.org/UA/", ApplicationUri, PlantUri];

    public List<EndpointDescription> Endpoints { get; } = [Endpoint(SecurityPolicy.None, MessageSecurityMode.None)];

    /// <summary>Values of nodes that exist.</summary>
    public Dictionary<NodeId, DataValue> Nodes { get; } = [];

    /// <summary>Most operations in one request; 0: any number.</summary>
    public int MaxOperations { get; set; }

    public TimeSpan SessionTimeout { get; set; } = TimeSpan.FromSeconds(60);

    public static EndpointDescription Endpoint(SecurityPolicy policy, MessageSecurityMode mode, byte[]? certificate = null, params UserTokenPolicy[] tokens) => new(
        "opc.tcp://scripted.invalid:4840/plant",
        new ApplicationDescription(ApplicationUri, null, new LocalizedText("scripted"), ApplicationType.Server, null, null, []),
        certificate,
        mode,
        policy.Uri,
        tokens.Length > 0 ? tokens : [new UserTokenPolicy("anonymous", UserTokenType.Anonymous, null, null, null)],
        "http://opcfoundation.org/UA-Profile/Transport/uatcp-uasc-uabinary",
        0);

    public IEnumerable<T> RequestsOf<T>() => Requests.Select(r => r.Body).OfType<T>();

    public async Task<IServiceChannel> OpenAsync(ChannelTarget target, CancellationToken cancellation)
    {
        ConnectionAttempts++;
        if (AcceptsNothing)
        {
            await Task.Delay(TimeSpan.FromSeconds(2), time, cancellation);
            throw new UaException(StatusCodes.BadTimeout, "no secure channel within 2 s");
        }

        if (Latency > TimeSpan.Zero)
        {
            await Task.Delay(Latency, time, cancellation);
        }

        if (Unreachable is { } reason)
        {
            throw reason;
        }

        var channel = new ScriptedChannel(this, target, time);
        Channels.Add(channel);
        return channel;
    }

    /// <summary>Every connection ends.</summary>
    public void BreakAll(StatusCode? status = null)
    {
        foreach (var channel in Channels.Where(c => c.IsOpen).ToArray())
        {
            channel.Break(status ?? StatusCodes.BadConnectionClosed);
        }
    }

    /// <summary>All sessions and subscriptions are forgotten, all connections end.</summary>
    public void Restart()
    {
        sessions.Clear();
        subscriptions.Clear();
        BreakAll();
    }

    public void Take(ScriptedChannel channel, object body, NodeId token, Action<object> answer)
    {
        Requests.Add((channel, body));
        var special = Intercept(body);
        if (ReferenceEquals(special, Never))
        {
            return;
        }

        try
        {
            if (special is not null)
            {
                answer(special);
            }
            else if (body is PublishRequest publish)
            {
                TakePublish(SessionOf(token, channel), publish, answer);
            }
            else
            {
                answer(Answer(channel, body, token));
            }
        }
        catch (UaServiceException e)
        {
            answer(e);
        }
    }

    public static UaServiceException Refusal(StatusCode status) => new(status, "the scripted server refused");

    private object Answer(ScriptedChannel channel, object body, NodeId token) => body switch
    {
        GetEndpointsRequest => new GetEndpointsResponse([.. Endpoints]),
        FindServersRequest => new FindServersResponse([Endpoints[0].Server]),
        CreateSessionRequest create => Create(create, channel),
        ActivateSessionRequest activate => Activate(activate, channel, token),
        CloseSessionRequest => Close(SessionOf(token, channel)),
        ReadRequest read => Read(read, SessionOf(token, channel)),
        BrowseRequest browse => Browse(browse),
        BrowseNextRequest next => Browse(next),
        TranslateBrowsePathsRequest translate => Translate(translate),
        CreateSubscriptionRequest create => Create(create, SessionOf(token, channel)),
        ModifySubscriptionRequest modify => Modify(modify),
        DeleteSubscriptionsRequest delete => Delete(delete),
        CreateMonitoredItemsRequest items => Create(items),
        DeleteMonitoredItemsRequest items => Delete(items),
        RepublishRequest republish => Republish(republish, SessionOf(token, channel)),
        TransferSubscriptionsRequest transfer => Transfer(transfer, SessionOf(token, channel)),
        _ => throw Refusal(StatusCodes.BadServiceUnsupported),
    };

    private void CheckCount(int count)
    {
        if (MaxOperations > 0 && count > MaxOperations)
        {
            throw Refusal(StatusCodes.BadTooManyOperations);
        }
    }
}
