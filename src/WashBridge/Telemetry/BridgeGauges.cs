using System.Diagnostics.Metrics;
using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Messaging;
using WashBridge.Pairing;
using WashBridge.Pipeline;
using WashBridge.Publishing;
using WashBridge.Web.Live;

namespace WashBridge.Telemetry;

/// <summary>How the service stands, looked at when somebody asks: washers, intake, historian, followers.</summary>
internal sealed class BridgeGauges(
    IMeterFactory meters, Site site, Bridge bridge, IHistorian historian, TimeProvider time, IServiceProvider services) : IHostedService
{
    private readonly IReadOnlyList<InfluxFollower> _influx = [.. services.GetServices<InfluxFollower>()];
    private readonly IReadOnlyList<MqttFollower> _mqtt = [.. services.GetServices<MqttFollower>()];

    public Task StartAsync(CancellationToken cancellationToken)
    {
        var meter = meters.Create(Measures.MeterName);
        meter.CreateObservableGauge("washbridge.washer.connected", () => bridge.Sources.Select(s => Of(s.Trouble is null ? 1 : 0, Measures.Washer, s.Washer)), "1", "1 while all groups of the washer are read, otherwise 0.");
        meter.CreateObservableCounter("washbridge.washer.reads", Reads, "{read}", "Reads of a group since the start. Done: it brought something, be it that nothing had changed. Failed: it brought nothing.");
        meter.CreateObservableGauge("washbridge.intake.waiting", () => bridge.FramesWaiting, "{frame}", "Frames that wait to be committed. At 8,192 the pollers wait.");
        meter.CreateObservableCounter("washbridge.historian.entries", () => historian.LastSequence, "{entry}", "Entries of the log, ever: frames and events.");
        meter.CreateObservableGauge("washbridge.historian.size", () => StoreSpace.Of(site.Store.Path).Bytes, "By", "Size of the historian's file with its write-ahead log.");
        meter.CreateObservableGauge("washbridge.historian.free", () => StoreSpace.Of(site.Store.Path).Free is { } free ? [new Measurement<long>(free)] : Array.Empty<Measurement<long>>(), "By", "Bytes left on the historian's disk.");
        meter.CreateObservableGauge("washbridge.follower.backlog", () => Followers().Select(f => Of(f.Lag.Entries, Measures.Follower, f.Name)), "{entry}", "Entries of the log that a follower has not come to; where it reads only some of them, at most so many.");
        meter.CreateObservableGauge("washbridge.follower.age", Ages, "s", "How long ago the oldest of these came about; 0: the follower is up to date.");
        meter.CreateObservableCounter("washbridge.influx.lines.delivered", () => Influx(s => s.LinesDelivered), "{line}", "Lines that the server took since the start. Lines sent again count again.");
        meter.CreateObservableCounter("washbridge.influx.lines.set_aside", () => Influx(s => s.LinesSetAside), "{line}", "Lines that the server refused for good, ever; they are kept in a file.");
        meter.CreateObservableCounter("washbridge.influx.fields.omitted", () => Influx(s => s.FieldsOmitted), "{field}", "Numbers left out, ever, because InfluxDB has no form for them.");
        meter.CreateObservableGauge("washbridge.influx.failing", () => Influx(s => s.Condition is null ? 0 : 1), "1", "1 while nothing can be delivered, otherwise 0.");
        meter.CreateObservableGauge("washbridge.mqtt.online", () => _mqtt.Select(f => Of(f.Status.IsOnline ? 1 : 0, Measures.Follower, f.Name)), "1", "1 while the broker has our birth certificates and is told what happens, otherwise 0.");
        meter.CreateObservableGauge("washbridge.mqtt.held", () => _mqtt.Select(f => Of(f.Status.Held, Measures.Follower, f.Name)), "{entry}", "Entries of the log, at most so many, of which washers' history is still to be told; the follower itself may be up to date.");
        meter.CreateObservableGauge("washbridge.pair.reading", () => services.GetService<ReadingRole>() is { IsReading: false } ? 0 : 1, "1", "1 while what this bridge reads goes into its log, 0 while it copies another bridge's. Of a pair one reads; a bridge that is alone always does.");
        meter.CreateObservableGauge("washbridge.pair.silence", Silence, "s", "How long ago the other bridge of the pair last answered. No series before it ever did, or where there is none.");
        return Task.CompletedTask;
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    private static Measurement<T> Of<T>(T value, string label, string name)
        where T : struct => new(value, new KeyValuePair<string, object?>(label, name));

    private IEnumerable<Measurement<double>> Silence() => bridge.Pair?.Heard is { } heard ? [new Measurement<double>(Math.Max(0, (time.GetUtcNow() - heard).TotalSeconds))] : [];

    private BridgeHealth Health() => BridgeHealth.Of(site, bridge, historian, _influx, _mqtt, services.GetServices<OpcUaPublisher>(), time);

    private IEnumerable<FollowerLag> Followers() => services.GetService<LiveBoard>() is { } pages
        ? Health().Followers.Append(new FollowerLag("pages", LogLag.Of(historian, pages.Cursor, LogContent.All)))
        : Health().Followers;

    private IEnumerable<Measurement<long>> Reads() => Health().Reads.SelectMany(r => ((string, long)[])[("Done", r.Counts.Done), ("Failed", r.Counts.Failed)], (r, outcome) => new Measurement<long>(
        outcome.Item2, new(Measures.Washer, r.Washer), new("group", r.Group), new("outcome", outcome.Item1)));

    private IEnumerable<Measurement<double>> Ages()
    {
        var now = Instant.Floor(time.GetUtcNow());
        return Followers().Select(f => Of(f.Lag.Oldest is { } oldest ? Math.Max(0, (now - oldest).TotalSeconds) : 0, Measures.Follower, f.Name));
    }

    private IEnumerable<Measurement<long>> Influx(Func<InfluxFollowerStatus, long> of) => _influx.Select(f => Of(of(f.Status), Measures.Follower, f.Name));
}
