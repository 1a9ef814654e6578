using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Messaging;
using WashBridge.Pipeline;
using WashBridge.Publishing;
using WashBridge.Web.Live;

namespace WashBridge.Web.Pages.Data;

/// <summary>How far behind the log one of its followers is.</summary>
/// <param name="Key">What it is, in the page's texts.</param>
/// <param name="Name">Its own name; empty where there is only one of its kind.</param>
/// <param name="Behind">Entries of the log that it has not come to; where it reads only some of them, at most so many.</param>
/// <param name="Oldest">When the oldest of these came about; null: it is up to date.</param>
internal sealed record Backlog(string Key, string Name, long Behind, Instant? Oldest)
{
    /// <summary>What is on its way is no backlog.</summary>
    private static readonly TimeSpan OnItsWay = TimeSpan.FromSeconds(10);

    /// <summary>Its own name, or where it has none what it is.</summary>
    public string Id => Name.Length > 0 ? Name : Key;

    /// <summary>Of a follower that may be waiting for somebody else.</summary>
    public InfluxFollowerStatus? Influx { get; init; }

    /// <summary>Likewise.</summary>
    public MqttCondition? Mqtt { get; init; }

    public bool IsBehind(Instant now) => Oldest is { } oldest && now - oldest > OnItsWay;

    public static IReadOnlyList<Backlog> Read(IHistorianReader historian, Bridge bridge, LiveBoard board, IEnumerable<InfluxFollower> influx, IEnumerable<MqttFollower> mqtt, IEnumerable<OpcUaPublisher> publishers) =>
    [
        Of(historian, "analyst", bridge.AnalystAt, LogContent.Frames),
        Of(historian, "analysis", bridge.AnalysisAt, LogContent.Events),
        Of(historian, "pages", board.Cursor, LogContent.All),
        .. influx.Select(f => Of(historian, "influx", f.Status.Cursor, f.Content) with { Name = f.Name, Influx = f.Status }),
        .. mqtt.Select(f => f.Status).Select(s => Of(historian, "mqtt", s.Cursor, LogContent.Events) with { Name = s.Follower, Mqtt = s.Condition }),
        .. publishers.Select(p => Of(historian, "opc-ua", p.Cursor, LogContent.All)),
    ];

    internal static Backlog Of(IHistorianReader historian, string key, long cursor, LogContent content)
    {
        var lag = LogLag.Of(historian, cursor, content);
        return new Backlog(key, "", lag.Entries, lag.Oldest);
    }
}
