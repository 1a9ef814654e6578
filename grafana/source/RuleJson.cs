using System.Text.Json.Nodes;

namespace WashBridge.Grafana;

/// <summary>Alert rules as a provisioning file. Grafana fills in variables of the environment in their titles and labels, so none of these has a dollar sign; in queries and annotations it does not.</summary>
internal static class RuleJson
{
    private const string Expression = "__expr__";

    public static JsonNode Of(IReadOnlyList<Rule> rules, IReadOnlyList<Dashboard> dashboards) => new JsonObject
    {
        ["apiVersion"] = 1,
        ["groups"] = new JsonArray(new JsonObject
        {
            ["orgId"] = 1,
            ["name"] = "WashBridge",
            ["folder"] = "WashBridge",
            ["interval"] = "1m",
            ["rules"] = new JsonArray([.. rules.Select(r => Of(r, dashboards))]),
        }),
    };

    /// <summary>A is the query, B its last number, C whether that is beyond the limit.</summary>
    private static JsonNode Of(Rule rule, IReadOnlyList<Dashboard> dashboards) => new JsonObject
    {
        ["uid"] = rule.Uid,
        ["title"] = rule.Title,
        ["condition"] = "C",
        ["for"] = rule.For,
        ["noDataState"] = rule.FiresOnSilence ? "Alerting" : "OK",
        ["execErrState"] = "Error",
        ["dashboardUid"] = rule.Panel.Dashboard,
        ["panelId"] = DashboardJson.Number(dashboards.Single(d => d.Uid == rule.Panel.Dashboard), rule.Panel.Title),
        ["labels"] = new JsonObject { ["audience"] = rule.Audience },
        ["annotations"] = new JsonObject { ["summary"] = rule.Summary, ["description"] = rule.Description, ["runbook_url"] = Files.Address + rule.Page },
        ["data"] = new JsonArray(
            Data("A", rule.Seconds, "washbridge", PanelJson.Influx("A", rule.Query, "time_series")),
            Data("B", 0, Expression, new JsonObject { ["refId"] = "B", ["type"] = "reduce", ["expression"] = "A", ["reducer"] = "last", ["settings"] = new JsonObject { ["mode"] = "dropNN" } }),
            Data("C", 0, Expression, new JsonObject
            {
                ["refId"] = "C",
                ["type"] = "threshold",
                ["expression"] = "B",
                ["conditions"] = new JsonArray(new JsonObject { ["evaluator"] = new JsonObject { ["type"] = rule.IsAbove ? "gt" : "lt", ["params"] = new JsonArray(rule.Limit) } }),
            })),
    };

    private static JsonObject Data(string name, int seconds, string source, JsonObject model) => new()
    {
        ["refId"] = name,
        ["datasourceUid"] = source,
        ["relativeTimeRange"] = new JsonObject { ["from"] = seconds, ["to"] = 0 },
        ["model"] = model,
    };
}
