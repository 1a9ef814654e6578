using System.Text.Json.Nodes;

namespace WashBridge.Grafana;

/// <summary>Dashboards as Grafana stores them.</summary>
internal static class DashboardJson
{
    /// <summary>The form of the file, not of Grafana: later ones read it and carry it on.</summary>
    private const int SchemaVersion = 39;

    private const int Columns = 24;

    public static JsonNode Of(Dashboard dashboard) => new JsonObject
    {
        ["uid"] = dashboard.Uid,
        ["title"] = dashboard.Title,
        ["description"] = dashboard.Description,
        ["tags"] = new JsonArray("washbridge", dashboard.For),
        ["schemaVersion"] = SchemaVersion,
        ["editable"] = false,
        ["graphTooltip"] = 1,
        ["time"] = new JsonObject { ["from"] = dashboard.From, ["to"] = "now" },
        ["refresh"] = "1m",
        ["annotations"] = new JsonObject { ["list"] = new JsonArray() },
        ["links"] = new JsonArray([OtherDashboards(), .. dashboard.Pages.Select(p => Link(p, isVariable: true))]),
        ["templating"] = new JsonObject { ["list"] = new JsonArray([.. Variables(dashboard)]) },
        ["panels"] = new JsonArray([.. Panels(dashboard.Panels)]),
    };

    /// <summary>The number of a panel, by which alert rules name it.</summary>
    public static int Number(Dashboard dashboard, string title) =>
        dashboard.Panels.Select((p, i) => (p.Title, Number: i + 1)).Single(p => p.Title == title).Number;

    private static IEnumerable<JsonNode> Variables(Dashboard dashboard)
    {
        yield return Variable("site", "Site", "SHOW TAG VALUES FROM \"wash_bridge\" WITH KEY = \"site\"", isOne: true);
        yield return Variable("washer", "Washer", """SHOW TAG VALUES FROM "wash_read" WITH KEY = "washer" WHERE "site" =~ /^$site$/""");
        if (dashboard.HasStation)
        {
            yield return Variable("station", "Station", """SHOW TAG VALUES FROM "wash_keg" WITH KEY = "station" WHERE "site" =~ /^$site$/ AND "washer" =~ /^$washer$/""");
        }

        yield return new JsonObject
        {
            ["type"] = "constant",
            ["name"] = "pages",
            ["label"] = "Address of WashBridge's own pages",
            ["hide"] = 2,
            ["skipUrlSync"] = true,
            ["query"] = Files.Address,
        };
    }

    /// <param name="isOne">One value at a time; else any number of them, or all.</param>
    private static JsonObject Variable(string name, string label, string query, bool isOne = false)
    {
        var variable = new JsonObject
        {
            ["type"] = "query",
            ["name"] = name,
            ["label"] = label,
            ["datasource"] = Files.DataSource(),
            ["query"] = query,
            ["definition"] = query,
            ["refresh"] = 1,
            ["sort"] = 1,
            ["multi"] = !isOne,
            ["includeAll"] = !isOne,
        };
        if (!isOne)
        {
            // Matches what has no such tag too: what is of the washer as a whole stays on the page.
            variable["allValue"] = ".*";
            variable["current"] = new JsonObject { ["text"] = new JsonArray("All"), ["value"] = new JsonArray("$__all") };
        }

        return variable;
    }

    private static JsonObject OtherDashboards() => new()
    {
        ["title"] = "Dashboards",
        ["type"] = "dashboards",
        ["icon"] = "dashboard",
        ["tooltip"] = "The other dashboards of WashBridge, for the same site and time",
        ["tags"] = new JsonArray("washbridge"),
        ["asDropdown"] = true,
        ["targetBlank"] = false,
        ["includeVars"] = true,
        ["keepTime"] = true,
    };

    private static JsonObject Link(PageLink page, bool isVariable) => new()
    {
        ["title"] = page.Title,
        ["type"] = "link",
        ["icon"] = "external link",
        ["tooltip"] = "WashBridge's own page",
        ["url"] = (isVariable ? "${pages}" : Files.Address) + page.Path,
        ["tags"] = new JsonArray(),
        ["asDropdown"] = false,
        ["targetBlank"] = true,
        ["includeVars"] = false,
        ["keepTime"] = false,
    };

    private static IEnumerable<JsonNode> Panels(IReadOnlyList<Panel> panels)
    {
        var (x, y, rowHeight) = (0, 0, 0);
        for (var i = 0; i < panels.Count; i++)
        {
            var panel = panels[i];
            if (x + panel.Width > Columns)
            {
                (x, y, rowHeight) = (0, y + rowHeight, 0);
            }

            yield return PanelJson.Of(panel, i + 1, x, y);
            (x, rowHeight) = (x + panel.Width, Math.Max(rowHeight, panel.Height));
        }
    }
}
