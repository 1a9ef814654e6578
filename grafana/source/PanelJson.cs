using System.Globalization;
using System.Text.Json.Nodes;

namespace WashBridge.Grafana;

/// <summary>One panel as Grafana stores it. Colour tells nothing that words, names, marks or dashes do not: no thresholds, no coloured values.</summary>
internal static class PanelJson
{
    public static JsonObject Of(Panel panel, int number, int x, int y)
    {
        var json = new JsonObject
        {
            ["type"] = panel.Kind switch
            {
                PanelKind.Stat => "stat",
                PanelKind.Series => "timeseries",
                PanelKind.Timeline => "state-timeline",
                PanelKind.Table => "table",
                _ => "text",
            },
            ["id"] = number,
            ["title"] = panel.Title,
            ["description"] = panel.Description,
            ["gridPos"] = new JsonObject { ["x"] = x, ["y"] = y, ["w"] = panel.Width, ["h"] = panel.Height },
        };
        if (panel.Kind == PanelKind.Text)
        {
            json["options"] = new JsonObject { ["mode"] = "markdown", ["content"] = panel.Query };
            return json;
        }

        if (panel.Last.Length > 0)
        {
            json["timeFrom"] = panel.Last;
        }

        json["datasource"] = Files.DataSource();
        json["targets"] = new JsonArray(Target(panel));
        json["options"] = Options(panel);
        json["fieldConfig"] = new JsonObject { ["defaults"] = Defaults(panel), ["overrides"] = new JsonArray([.. Overrides(panel)]) };
        return json;
    }

    private static JsonObject Target(Panel panel)
    {
        var target = Influx("A", panel.Query, panel.Kind == PanelKind.Table ? "table" : "time_series");
        if (panel.Legend.Length > 0)
        {
            target["alias"] = panel.Legend;
        }

        return target;
    }

    public static JsonObject Influx(string name, string query, string format) => new()
    {
        ["refId"] = name,
        ["datasource"] = Files.DataSource(),
        ["query"] = query.Trim(),
        ["rawQuery"] = true,
        ["resultFormat"] = format,
    };

    private static JsonObject Options(Panel panel) => panel.Kind switch
    {
        PanelKind.Stat => new()
        {
            ["graphMode"] = "none",
            ["colorMode"] = "none",
            ["textMode"] = "value_and_name",
            ["reduceOptions"] = new JsonObject { ["values"] = false, ["calcs"] = new JsonArray("lastNotNull"), ["fields"] = "" },
        },
        PanelKind.Table => new() { ["showHeader"] = true, ["cellHeight"] = "sm" },
        PanelKind.Timeline => new() { ["showValue"] = "auto", ["mergeValues"] = true, ["rowHeight"] = 0.8, ["legend"] = Legend(isShown: false), ["tooltip"] = Tooltip("single") },
        _ => new() { ["legend"] = Legend(isShown: true), ["tooltip"] = Tooltip("multi") },
    };

    /// <summary>With the last value and the highest, so that a line is found by its number.</summary>
    private static JsonObject Legend(bool isShown) => new()
    {
        ["displayMode"] = "table",
        ["placement"] = "bottom",
        ["showLegend"] = isShown,
        ["calcs"] = isShown ? new JsonArray("lastNotNull", "max") : new JsonArray(),
    };

    private static JsonObject Tooltip(string mode) => new() { ["mode"] = mode, ["sort"] = "none" };

    private static JsonObject Defaults(Panel panel)
    {
        var defaults = new JsonObject { ["unit"] = panel.Unit, ["noValue"] = "nothing" };
        if (panel.Decimals is { } decimals)
        {
            defaults["decimals"] = decimals;
        }

        if (panel.Words.Count > 0)
        {
            defaults["mappings"] = new JsonArray([.. panel.Words.Select(Mapping)]);
        }

        if (panel.Kind == PanelKind.Series)
        {
            defaults["custom"] = panel.IsStacked
                ? new JsonObject { ["drawStyle"] = "bars", ["fillOpacity"] = 60, ["lineWidth"] = 1, ["stacking"] = new JsonObject { ["mode"] = "normal", ["group"] = "A" } }
                : new JsonObject { ["drawStyle"] = "line", ["lineWidth"] = 1, ["showPoints"] = "auto", ["spanNulls"] = false };
        }

        return defaults;
    }

    private static JsonNode Mapping((int From, int? To, string Word) word) => new JsonObject
    {
        ["type"] = "range",
        ["options"] = new JsonObject { ["from"] = word.From, ["to"] = word.To, ["result"] = new JsonObject { ["text"] = word.Word } },
    };

    private static IEnumerable<JsonNode> Overrides(Panel panel)
    {
        foreach (var (column, unit) in panel.Units)
        {
            yield return Override("byName", column, ("unit", unit));
        }

        foreach (var (column, page) in panel.Links)
        {
            yield return Override("byName", column, ("links", new JsonArray(new JsonObject { ["title"] = page.Title, ["url"] = "${pages}" + page.Path, ["targetBlank"] = true })));
        }

        if (panel.Dashed is { } dashed)
        {
            yield return Override("byRegexp", string.Create(CultureInfo.InvariantCulture, $"/{dashed}/"), ("custom.lineStyle", new JsonObject { ["fill"] = "dash", ["dash"] = new JsonArray(10, 10) }));
        }
    }

    private static JsonObject Override(string matcher, string option, (string Id, JsonNode? Value) property) => new()
    {
        ["matcher"] = new JsonObject { ["id"] = matcher, ["options"] = option },
        ["properties"] = new JsonArray(new JsonObject { ["id"] = property.Id, ["value"] = property.Value }),
    };
}
