using Microsoft.AspNetCore.Http.Features;
using WashBridge.Core.Time;

namespace WashBridge.Web;

/// <summary>
/// Addresses of things that have an id. A keg's id stands behind the question mark: people and scanners put slashes, percent signs and dots in ids, which a path does not survive.
/// </summary>
public static class Links
{
    public static string Keg(string id) => "kegs/keg?id=" + Uri.EscapeDataString(id);

    /// <summary>The kegs that this washer has washed since.</summary>
    public static string KegsSince(string washer, Instant from) => $"kegs?washer={Uri.EscapeDataString(washer)}&from={Uri.EscapeDataString(from.ToString())}";

    public static string Cycle(string id) => "cycles/" + Uri.EscapeDataString(id);

    /// <summary>This page, letter by letter as the browser asked for it: one that is escaped otherwise would be another page to it. Never another host.</summary>
    public static string Same(HttpContext http) => "/" + http.Features.GetRequiredFeature<IHttpRequestFeature>().RawTarget.TrimStart('/', '\\');

    public static string Signals(string washer, Instant from, Instant until, IEnumerable<string> signals) =>
        $"signals?washer={Uri.EscapeDataString(washer)}&from={Uri.EscapeDataString(from.ToString())}&until={Uri.EscapeDataString(until.ToString())}{string.Concat(signals.Select(s => "&signal=" + Uri.EscapeDataString(s)))}";
}
