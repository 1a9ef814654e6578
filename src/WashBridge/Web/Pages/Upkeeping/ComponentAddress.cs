using WashBridge.Core.Upkeep;
using WashBridge.Web.Pages.Drifting;

namespace WashBridge.Web.Pages.Upkeeping;

/// <summary>Where a part of a washer is shown.</summary>
internal static class ComponentAddress
{
    public static string Of(string washer, Component component) => $"upkeep/{Uri.EscapeDataString(washer)}/{DriftAddress.Path(component.Key)}";
}
