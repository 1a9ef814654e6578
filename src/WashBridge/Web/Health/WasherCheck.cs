using Microsoft.Extensions.Diagnostics.HealthChecks;
using WashBridge.Pipeline;

namespace WashBridge.Web.Health;

/// <summary>All groups of a washer are read.</summary>
internal sealed class WasherCheck(Bridge bridge, string washer) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) => Task.FromResult(
        bridge.Sources.Single(s => s.Washer == washer).Trouble is { } trouble ? HealthCheckResult.Degraded(trouble) : HealthCheckResult.Healthy());
}
