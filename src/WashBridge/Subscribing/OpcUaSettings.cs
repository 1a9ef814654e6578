using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Subscribing;

/// <summary>A washer's connection in the terms of the OPC UA library.</summary>
internal static class OpcUaSettings
{
    /// <summary>What a whole second of silence costs: at most so much of the washer's gap limit passes between two signs of life.</summary>
    private const int SignsOfLifeAGap = 4;

    private static readonly TimeSpan SlowestKeepAlive = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan FastestKeepAlive = TimeSpan.FromMilliseconds(100);

    /// <exception cref="PkiException">Our certificate, or that of the user, cannot be used.</exception>
    public static UaClientOptions ClientOptions(OpcUaConnection connection, OpcUaApplication application) => new()
    {
        Endpoint = connection.Endpoint,
        Policy = connection.Mode == MessageSecurityMode.None ? SecurityPolicy.None : connection.Policy,
        Mode = connection.Mode,
        Identity = Identity(connection.Identity),
        AllowPasswordInClear = connection.Identity is UserNameIdentity { MayBeReadable: true },
        Certificate = application.Certificate,
        Validator = application.Validator,
        ApplicationName = application.Configuration.ApplicationName,
        ServerUri = connection.ServerUri,
        Exceptions = connection.Exceptions,
        RequestTimeout = connection.Timeout,

        // All that waits for an answer follows from how long an answer may take.
        ConnectTimeout = connection.Timeout * 2 / 3,
        KeepAliveInterval = connection.Timeout / 6,
        SuspectAfter = connection.Timeout / 10,
        SessionTimeout = connection.SessionTimeout,
    };

    /// <summary>
    /// One subscription for all groups, so that every message shows the whole washer at one moment. It is published as often as the fastest group is
    /// sampled; the item with handle n is tag n.
    /// </summary>
    public static SubscriptionSpec Subscription(WasherConfiguration washer)
    {
        var publishing = washer.Groups.Min(g => g.Every);
        var keepAlive = KeepAlive(washer);
        return new SubscriptionSpec
        {
            Name = washer.Model.Washer,
            PublishingInterval = publishing,
            KeepAlive = keepAlive < publishing ? publishing : keepAlive,
            Items = [.. washer.Tags.Select((tag, i) => new MonitoredItemSpec
            {
                ClientHandle = (uint)i,
                Node = ((OpcUaSource)tag.Source).Node,
                SamplingInterval = washer.Groups.First(g => g.Number == tag.Group).Every,
                QueueSize = (uint)((OpcUaSource)tag.Source).Queue,
            })],
        };
    }

    /// <summary>How long a group may go without a frame: well within the washer's gap limit.</summary>
    public static TimeSpan KeepAlive(WasherConfiguration washer)
    {
        var part = washer.Model.GapLimit / SignsOfLifeAGap;
        return part > SlowestKeepAlive ? SlowestKeepAlive : part < FastestKeepAlive ? FastestKeepAlive : part;
    }

    private static UserIdentity Identity(OpcUaIdentity identity) => identity switch
    {
        UserNameIdentity user => UserIdentity.UserName(user.User, user.Password),
        CertificateIdentity user => UserIdentity.X509(ApplicationCertificate.Load(user.CertificateFile, user.KeyFile)),
        _ => UserIdentity.Anonymous,
    };
}
