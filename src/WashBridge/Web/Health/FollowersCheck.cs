using Microsoft.Extensions.Diagnostics.HealthChecks;
using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Messaging;
using WashBridge.Pipeline;
using WashBridge.Publishing;
using WashBridge.Web.Live;
using WashBridge.Web.Pages.Data;

namespace WashBridge.Web.Health;

/// <summary>Whoever follows the log keeps up with it: verdicts, analysis, pages, InfluxDB, MQTT, our OPC UA server.</summary>
internal sealed class FollowersCheck(IHistorian historian, Bridge bridge, LiveBoard board, IEnumerable<InfluxFollower> influx, IEnumerable<MqttFollower> mqtt, IEnumerable<OpcUaPublisher> publishers, TimeProvider time) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        var now = Instant.Floor(time.GetUtcNow());
        var behind = Backlog.Read(historian, bridge, board, influx, mqtt, publishers).Where(b => b.IsBehind(now)).Select(b => $"{b.Id} is {b.Behind} entries behind{Reason(b)}").ToList();
        return Task.FromResult(behind.Count > 0 ? HealthCheckResult.Degraded(string.Join("; ", behind)) : HealthCheckResult.Healthy());
    }

    private static string Reason(Backlog backlog) => backlog.Influx?.Condition is { } condition ? $" ({condition.Failure})" : "";
}
