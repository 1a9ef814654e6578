using WashBridge.Core.Cycles;

namespace WashBridge.Web.Live;

/// <summary>Where the pages tell of one alarm. Its key has slashes of its own, which stay.</summary>
internal static class AlarmAddress
{
    public static string Of(AlarmChanged alarm) => Of(alarm.Washer, alarm.Alarm);

    public static string Of(string washer, string key) => $"alarms/{Uri.EscapeDataString(washer)}/{string.Join('/', key.Split('/').Select(Uri.EscapeDataString))}";
}
