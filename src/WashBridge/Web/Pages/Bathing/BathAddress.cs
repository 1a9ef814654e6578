namespace WashBridge.Web.Pages.Bathing;

/// <summary>Where a bath is shown.</summary>
internal static class BathAddress
{
    public static string Of(string washer, string bath) => $"baths/{Uri.EscapeDataString(washer)}/{Uri.EscapeDataString(bath)}";
}
