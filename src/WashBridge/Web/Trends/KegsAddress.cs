using WashBridge.Core.Time;

namespace WashBridge.Web.Trends;

/// <summary>Where kegs and cycles are shown.</summary>
internal static class KegsAddress
{
    public static string Since(string washer, Instant from) => $"kegs?washer={Uri.EscapeDataString(washer)}&from={Uri.EscapeDataString(from.ToString())}";

    public static string Keg(string kegId) => $"kegs/{Uri.EscapeDataString(kegId)}";

    public static string Cycle(string cycleId) => $"cycles/{Uri.EscapeDataString(cycleId)}";
}
