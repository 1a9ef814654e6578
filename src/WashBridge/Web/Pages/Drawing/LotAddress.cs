namespace WashBridge.Web.Pages.Drawing;

/// <summary>Where a lot is shown; names of lots may have any sign.</summary>
internal static class LotAddress
{
    public static string Of(string lot) => $"sampling/lot?name={Uri.EscapeDataString(lot)}";
}
