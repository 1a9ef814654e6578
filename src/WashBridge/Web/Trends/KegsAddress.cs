using WashBridge.Core.Time;

namespace WashBridge.Web.Trends;

/// <summary>Where kegs and cycles are shown.</summary>
internal static class KegsAddress
{
    public static string Since(string washer, Instant from) => $"kegs?washer={Uri.EscapeDataString(washer)}&from={Uri.EscapeDataString(from.ToString())}";

    /// <summary>By query: an id of a keg may have any sign.</summary>
    public static string Keg(string kegId) => $"kegs/keg?id={Uri.EscapeDataString(kegId)}";

    public static string Cycle(string cycleId) => $"cycles/{Uri.EscapeDataString(cycleId)}";
}
