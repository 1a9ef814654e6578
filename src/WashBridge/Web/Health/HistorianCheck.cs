using Microsoft.Extensions.Diagnostics.HealthChecks;
using WashBridge.Pipeline;

namespace WashBridge.Web.Health;

/// <summary>What is read can be kept. It tells what the last commit came to: nothing is written to find out.</summary>
internal sealed class HistorianCheck(Bridge bridge) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) => Task.FromResult(
        !bridge.IsRunning ? HealthCheckResult.Unhealthy("the bridge has not begun to read, or has ended")
        : bridge.CommitTrouble is { } trouble ? HealthCheckResult.Unhealthy($"frames cannot be committed; {bridge.FramesWaiting} and more wait: {trouble}")
        : HealthCheckResult.Healthy());
}
