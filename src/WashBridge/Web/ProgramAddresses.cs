using WashBridge.Pairing;
using WashBridge.Telemetry;
using WashBridge.Web.Health;

namespace WashBridge.Web;

/// <summary>Addresses that only programs ask: what is wrong is told them by status, and nobody is sent to a login.</summary>
internal static class ProgramAddresses
{
    private static readonly string[] All = ["/api", TelemetryServices.MetricsPath, HealthEndpoints.Path, PairEndpoint.Address];

    public static bool Cover(PathString path) => All.Any(a => path.StartsWithSegments(a));
}
