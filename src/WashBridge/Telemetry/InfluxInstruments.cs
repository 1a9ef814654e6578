using System.Diagnostics.Metrics;
using WashBridge.Forwarding;

namespace WashBridge.Telemetry;

/// <summary>Requests to InfluxDB. Lines and backlog are gauges of the service: <see cref="BridgeGauges"/>.</summary>
internal static class InfluxInstruments
{
    private static readonly Histogram<double> Duration = Measures.Seconds("washbridge.influx.request.duration", "How long a write request took, by how it ended.");

    /// <param name="failure">Null: the server took it.</param>
    public static void Requested(string follower, long since, InfluxFailure? failure) => Duration.Record(
        Measures.SecondsSince(since),
        new KeyValuePair<string, object?>(Measures.Follower, follower),
        new KeyValuePair<string, object?>("outcome", failure?.ToString() ?? "Delivered"));
}
