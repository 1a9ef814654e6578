using Microsoft.Extensions.Diagnostics.HealthChecks;
using WashBridge.Pipeline;

namespace WashBridge.Web.Health;

/// <summary>The other bridge of the pair answers: while it does not, nobody would go on if this one ended.</summary>
internal sealed class PairCheck(Bridge bridge) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        var pair = bridge.Pair!;
        var role = pair.IsReading ? "this bridge reads" : "this bridge copies the other";
        return Task.FromResult(pair.Trouble is { } trouble ? HealthCheckResult.Degraded($"{role}; the other cannot be asked: {trouble}") : HealthCheckResult.Healthy(role));
    }
}
