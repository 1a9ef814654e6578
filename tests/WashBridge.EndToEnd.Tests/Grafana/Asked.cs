using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using WashBridge.Core.Time;

namespace WashBridge.EndToEnd.Tests.Grafana;

/// <summary>A query of the files, with its place for messages.</summary>
internal sealed partial record Asked(string Where, string Query)
{
    /// <summary>Columns that the panel gives a unit or a link, or takes the link's words from.</summary>
    public IReadOnlyList<string> Named { get; private init; } = [];

    private static readonly string Folder = Path.Combine(Repository.Root, "grafana");

    public static IReadOnlyList<JsonElement> Dashboards { get; } = [.. Directory.GetFiles(Path.Combine(Folder, "dashboards"), "*.json").Order(StringComparer.Ordinal).Select(Read)];

    public static JsonElement Alerting { get; } = Read(Path.Combine(Folder, "provisioning", "alerting", "washbridge.json"));

    public static IReadOnlyList<JsonElement> Rules { get; } = [.. Alerting.GetProperty("groups").EnumerateArray().SelectMany(g => g.GetProperty("rules").EnumerateArray())];

    public static IReadOnlyList<Asked> Panels { get; } =
    [
        .. from dashboard in Dashboards
           from panel in dashboard.GetProperty("panels").EnumerateArray()
           where panel.TryGetProperty("targets", out _)
           from target in panel.GetProperty("targets").EnumerateArray()
           select new Asked($"{dashboard.GetProperty("uid")} / {panel.GetProperty("title")}", target.GetProperty("query").GetString()!)
           {
               Named = [.. Column().Matches(panel.GetProperty("fieldConfig").GetRawText()).Select(m => m.Groups[1].Value + m.Groups[2].Value).Distinct()],
           },
    ];

    public static IReadOnlyList<Asked> Variables { get; } =
    [
        .. from dashboard in Dashboards
           from variable in dashboard.GetProperty("templating").GetProperty("list").EnumerateArray()
           where variable.GetProperty("type").GetString() == "query"
           select new Asked($"{dashboard.GetProperty("uid")} / ${variable.GetProperty("name")}", variable.GetProperty("query").GetString()!),
    ];

    public static Asked Panel(string dashboard, string title) => Panels.Single(p => p.Where == $"{dashboard} / {title}");

    public static (JsonElement Rule, Asked Query) Rule(string uid)
    {
        var rule = Rules.Single(r => r.GetProperty("uid").GetString() == uid);
        return (rule, new Asked(uid, rule.GetProperty("data")[0].GetProperty("model").GetProperty("query").GetString()!));
    }

    /// <summary>
    /// As Grafana fills it in. Its documentation: the time filter is the page's time, in milliseconds; the interval follows from it and the panel's width; a variable that can have several values becomes a
    /// regular expression ("InfluxDB template variables").
    /// </summary>
    public string FilledIn(Instant from, Instant to, string interval = "1m", string site = "millrace", string washer = ".*", string station = ".*") => Query
        .Replace("$timeFilter", string.Create(CultureInfo.InvariantCulture, $"time >= {from.UnixMicroseconds / 1000}ms and time <= {(to.UnixMicroseconds / 1000) + 1}ms"), StringComparison.Ordinal)
        .Replace("$__interval", interval, StringComparison.Ordinal)
        .Replace("$site", site, StringComparison.Ordinal).Replace("$washer", washer, StringComparison.Ordinal).Replace("$station", station, StringComparison.Ordinal);

    [GeneratedRegex("""\$\{__data\.fields\.(\w+)|"byName",\s*"options":\s*"([^"]+)""")]
    private static partial Regex Column();

    private static JsonElement Read(string path) => JsonDocument.Parse(File.ReadAllText(path)).RootElement.Clone();
}
