using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Messaging;
using WashBridge.Pipeline;
using WashBridge.Publishing;

namespace WashBridge.Forwarding;

/// <summary>How the bridge itself stands: what is no event of a washer, and yet wanted by whoever watches over it.</summary>
/// <param name="At">When it was looked at.</param>
/// <param name="Space">The historian's file and its disk.</param>
/// <param name="FramesWaiting">Frames that wait to be committed.</param>
/// <param name="Followers">Everybody who follows the log, by name.</param>
/// <param name="Reads">Every group of every washer.</param>
internal sealed record BridgeHealth(Instant At, StoreSpace Space, int FramesWaiting, IReadOnlyList<FollowerLag> Followers, IReadOnlyList<GroupReads> Reads)
{
    public static BridgeHealth Of(Site site, Bridge bridge, IHistorianReader historian, IEnumerable<InfluxFollower> influx, IEnumerable<MqttFollower> mqtt, IEnumerable<OpcUaPublisher> publishers, TimeProvider time) => new(
        Instant.Floor(time.GetUtcNow()),
        StoreSpace.Of(site.Store.Path),
        bridge.FramesWaiting,
        [
            new("analyst", LogLag.Of(historian, bridge.AnalystAt, LogContent.Frames)),
            new("analysis", LogLag.Of(historian, bridge.AnalysisAt, LogContent.Events)),
            .. influx.Select(f => new FollowerLag(f.Name, LogLag.Of(historian, f.Status.Cursor, f.Content))),
            .. mqtt.Select(f => new FollowerLag(f.Name, LogLag.Of(historian, f.Status.Cursor, LogContent.Events))),
            .. publishers.Select(p => new FollowerLag("opc-ua", LogLag.Of(historian, p.Cursor, LogContent.All))),
        ],
        [
            .. from washer in site.Washers
               from source in bridge.Sources.Where(s => s.Washer == washer.Model.Washer)
               from @group in washer.Groups
               select new GroupReads(washer.Model.Washer, @group.Number, source.CountsOf(@group.Number)),
        ]);
}

/// <param name="Name">As in the historian, such as <c>influx/plant</c>; <c>analyst</c> finds cycles and judges them, <c>analysis</c> finds drifts and makes forecasts.</param>
/// <param name="Lag">How far behind it is.</param>
internal sealed record FollowerLag(string Name, LogLag Lag);

/// <param name="Washer">Whose.</param>
/// <param name="Group">0 to 255.</param>
/// <param name="Counts">Since the start of the service.</param>
internal sealed record GroupReads(string Washer, int Group, ReadCounts Counts);
