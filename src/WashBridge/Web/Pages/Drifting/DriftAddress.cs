namespace WashBridge.Web.Pages.Drifting;

/// <summary>Where a figure of a washer is shown. Keys of figures have slashes of their own.</summary>
internal static class DriftAddress
{
    public static string Of(string washer, string figure) => $"drift/{Uri.EscapeDataString(washer)}/{Path(figure)}";

    /// <summary>Each piece between slashes escaped.</summary>
    public static string Path(string key) => string.Join('/', key.Split('/').Select(Uri.EscapeDataString));
}
