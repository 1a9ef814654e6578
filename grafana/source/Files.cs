using System.Text.Json.Nodes;

namespace WashBridge.Grafana;

/// <summary>Everything that is written, by its path below the folder of Grafana's files.</summary>
internal static class Files
{
    /// <summary>Stands for the address of WashBridge's own pages until somebody puts theirs there: Grafana fills in no variable of the environment in dashboards and annotations.</summary>
    public const string Address = "http://washbridge.example:15080";

    public static IReadOnlyList<Dashboard> Dashboards { get; } = [Technician.WashersNow, Technician.DrainsAndPumps, Technician.Baths, Quality.Cycles, Operations.DataHealth];

    public static IReadOnlyDictionary<string, string> All { get; } = new Dictionary<string, string>(
    [
        .. Dashboards.Select(d => KeyValuePair.Create($"dashboards/{d.Uid}.json", Layout.Write(DashboardJson.Of(d)))),
        KeyValuePair.Create("provisioning/alerting/washbridge.json", Layout.Write(RuleJson.Of(Rules.All, Dashboards))),
    ]);

    /// <summary>The data source that provisioning/datasources names.</summary>
    public static JsonObject DataSource() => new() { ["type"] = "influxdb", ["uid"] = "washbridge" };
}
