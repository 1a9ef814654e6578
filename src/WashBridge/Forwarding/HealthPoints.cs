using System.Globalization;
using WashBridge.Core.Time;

namespace WashBridge.Forwarding;

/// <summary>How the bridge itself stands, as points. They are of the moment, not of the log: what a server misses is not sent later.</summary>
internal sealed class HealthPoints(string site)
{
    private readonly LinePoint _point = new();

    /// <param name="health">As it stands.</param>
    /// <param name="before">As it stood when it was last told; null: reads are counted since the start of the service.</param>
    /// <param name="batch">Where the lines go.</param>
    public void Append(BridgeHealth health, BridgeHealth? before, LineBatch batch)
    {
        var space = health.Space;
        Add(Start("wash_bridge").Field("store_bytes", space.Bytes).Field("disk_free_bytes", space.Free).Field("disk_bytes", space.Disk).Field("frames_waiting", health.FramesWaiting), health.At, batch);
        foreach (var (name, lag) in health.Followers)
        {
            var late = lag.Oldest is { } oldest ? Math.Max(0, (health.At - oldest).TotalSeconds) : 0;
            Add(Start("wash_follower").Tag("follower", name).Field("behind", lag.Entries).Field("late_s", late), health.At, batch);
        }

        foreach (var (washer, group, counts) in health.Reads)
        {
            var past = before?.Reads.FirstOrDefault(r => r.Washer == washer && r.Group == group)?.Counts ?? default;
            Add(
                Start("wash_read").Tag("washer", washer).Tag("group", group.ToString(CultureInfo.InvariantCulture)).Field("done", counts.Done - past.Done).Field("failed", counts.Failed - past.Failed),
                health.At,
                batch);
        }
    }

    private LinePoint Start(string measurement) => _point.Start(measurement).Tag("site", site);

    private static void Add(LinePoint point, Instant at, LineBatch batch) => batch.Add(point, at.UnixMicroseconds * 1000, new LineOrigin(0, null));
}
