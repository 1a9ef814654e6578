using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Json.Schema;
using WashBridge.Grafana;
using WashBridge.Tests.Web;
using YamlDotNet.Serialization;

namespace WashBridge.EndToEnd.Tests.Grafana;

/// <summary>Grafana's files as such: that they are what their source makes, have the form that Grafana's makers publish, and lead to pages that there are.</summary>
public sealed partial class GrafanaFileTests
{
    private static readonly string Folder = Path.Combine(Repository.Root, "grafana");

    [Fact]
    public void The_files_are_what_their_source_makes()
    {
        var made = Files.All.ToDictionary(f => Path.GetFullPath(Path.Combine(Folder, f.Key)), f => f.Value);
        var there = Directory.GetFiles(Path.Combine(Folder, "dashboards")).Concat(Directory.GetFiles(Path.Combine(Folder, "provisioning", "alerting")));
        Assert.Equal(made.Keys.Order(), there.Order());
        Assert.All(made, f => Assert.True(f.Value == File.ReadAllText(f.Key), $"{f.Key} is not up to date: dotnet run --project grafana/source -- grafana"));
    }

    [Fact]
    public void Dashboards_and_rules_have_the_form_that_is_published()
    {
        foreach (var dashboard in Asked.Dashboards)
        {
            Assert.Equal("", Complaint("DashboardFile", dashboard));
        }

        Assert.Equal("", Complaint("AlertingFile", Asked.Alerting));
    }

    /// <summary>A check that lets mistakes pass proves nothing: each of these is a slip that a person makes.</summary>
    [Theory]
    [InlineData("DashboardFile", "panels/0/type", "\"timeserie\"")]
    [InlineData("DashboardFile", "panels/0/options/colorMode", "\"nothing\"")]
    [InlineData("DashboardFile", "panels/0/options/reduceOptions/calcs", "\"lastNotNull\"")]
    [InlineData("DashboardFile", "panels/0/optons", "{}")]
    [InlineData("DashboardFile", "panels/0/gridPos/w", "\"12\"")]
    [InlineData("DashboardFile", "panels/0/gridPos/h", null)]
    [InlineData("DashboardFile", "panels/0/id", "\"one\"")]
    [InlineData("DashboardFile", "panels/0/fieldConfig/defaults/mappings/0/type", "\"ranges\"")]
    [InlineData("DashboardFile", "panels/0/fieldConfig/defaults/units", "\"s\"")]
    [InlineData("DashboardFile", "panels/0/targets/0/rawQuery", "false")]
    [InlineData("DashboardFile", "panels/0/targets/0/resultFormat", "\"timeseries\"")]
    [InlineData("DashboardFile", "panels/0/targets/0/qery", "\"\"")]
    [InlineData("DashboardFile", "panels/4/fieldConfig/defaults/custom/drawStyle", "\"bar\"")]
    [InlineData("DashboardFile", "panels/4/fieldConfig/defaults/custom/stacking/mode", "\"on\"")]
    [InlineData("DashboardFile", "panels/4/options/legend/displayMode", "\"tables\"")]
    [InlineData("DashboardFile", "schemaVersion", null)]
    [InlineData("DashboardFile", "graphTooltip", "3")]
    [InlineData("DashboardFile", "time/to", null)]
    [InlineData("DashboardFile", "templating/list/0/type", "\"queries\"")]
    [InlineData("DashboardFile", "templating/list/0/refresh", "7")]
    [InlineData("DashboardFile", "links/0/asDropdown", "\"yes\"")]
    [InlineData("AlertingFile", "groups/0/rules/0/noDataState", "\"Ok\"")]
    [InlineData("AlertingFile", "groups/0/rules/0/execErrState", "\"Fail\"")]
    [InlineData("AlertingFile", "groups/0/rules/0/condition", null)]
    [InlineData("AlertingFile", "groups/0/rules/0/annotations/summary", "5")]
    [InlineData("AlertingFile", "groups/0/rules/0/panelId", "\"2\"")]
    [InlineData("AlertingFile", "groups/0/rules/0/data/1/model/reducer", "\"latest\"")]
    [InlineData("AlertingFile", "groups/0/rules/0/data/2/model/conditions/0/evaluator/type", "\"above\"")]
    [InlineData("AlertingFile", "groups/0/rules/0/data/0/relativeTimeRange/from", "\"10m\"")]
    [InlineData("AlertingFile", "groups/0/interval", null)]
    public void A_slip_is_found(string type, string place, string? slip)
    {
        var file = JsonNode.Parse((type == "DashboardFile" ? Asked.Dashboards.Single(d => d.GetProperty("uid").GetString() == "washbridge-now") : Asked.Alerting).GetRawText())!;
        var steps = place.Split('/');
        var at = steps[..^1].Aggregate(file, (node, step) => node is JsonArray list ? list[int.Parse(step)]! : node[step]!);
        if (slip is null)
        {
            Assert.True(at.AsObject().Remove(steps[^1]), "nothing there to leave out");
        }
        else
        {
            at[steps[^1]] = JsonNode.Parse(slip);
        }

        Assert.NotEqual("", Complaint(type, JsonDocument.Parse(file.ToJsonString()).RootElement));
    }

    [Fact]
    public void Every_panel_says_what_it_shows_and_no_colour_carries_a_meaning()
    {
        foreach (var panel in Asked.Dashboards.SelectMany(d => d.GetProperty("panels").EnumerateArray()))
        {
            var title = panel.GetProperty("title").GetString()!;
            Assert.InRange(title.Length, 4, 80);
            Assert.True(panel.GetProperty("description").GetString()!.Length > 10, title);
            var text = panel.GetRawText();
            Assert.DoesNotMatch("""thresholds|"color"|background""", text);
            if (panel.GetProperty("type").GetString() == "stat")
            {
                Assert.Equal("none", panel.GetProperty("options").GetProperty("colorMode").GetString());
            }
        }
    }

    [Fact]
    public void Panels_lie_beside_each_other_and_numbers_and_names_are_used_once()
    {
        Assert.Distinct(Asked.Dashboards.Select(d => d.GetProperty("uid").GetString()));
        foreach (var panels in Asked.Dashboards.Select(d => d.GetProperty("panels").EnumerateArray().ToList()))
        {
            Assert.Distinct(panels.Select(p => p.GetProperty("id").GetInt32()));
            Assert.Distinct(panels.Select(p => p.GetProperty("title").GetString()));
            var cells = panels.Select(p => p.GetProperty("gridPos")).SelectMany(g => from x in Enumerable.Range(Of(g, "x"), Of(g, "w")) from y in Enumerable.Range(Of(g, "y"), Of(g, "h")) select (x, y)).ToList();
            Assert.Distinct(cells);
            Assert.All(cells, c => Assert.InRange(c.x, 0, 23));
        }

        static int Of(JsonElement place, string name) => place.GetProperty(name).GetInt32();
    }

    /// <summary>The links' variables are filled in with what such a cell holds, and the address is one that the pages answer.</summary>
    [Fact]
    public async Task Every_link_leads_to_a_page_that_there_is()
    {
        var links = Asked.Dashboards.SelectMany(d => Own().Matches(d.GetRawText()).Select(m => m.Groups[1].Value))
            .Concat(Asked.Rules.Select(r => r.GetProperty("annotations").GetProperty("runbook_url").GetString()![Files.Address.Length..]))
            .Distinct().ToList();
        Assert.True(links.Count > 15);
        await using var trial = await WebTrial.StartAsync();
        using var browser = trial.Client();
        foreach (var link in links)
        {
            var path = Filled().Replace(link, m => (m.Groups[1].Value + m.Groups[2].Value) switch
            {
                "washer" => "north",
                "component" => "drain-valve@2",
                "feature" => "drain-index@2",
                "alarm" => "drain-valve@2",
                "bath" => "caustic",
                "keg" => "K-0042",
                "cycle" => "c-1",
                var other => throw new ArgumentException($"what is {other}?"),
            });
            using var answer = await browser.GetAsync(new Uri(trial.Address, path), TestContext.Current.CancellationToken);
            var page = await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);

            // Nothing is known there of a keg, a cycle or an alarm; but the page that would tell of it has been asked.
            var isKnown = !link.Contains("keg?", StringComparison.Ordinal) && !link.Contains("/cycles/", StringComparison.Ordinal) && !link.Contains("/alarms/", StringComparison.Ordinal);
            Assert.True(answer.IsSuccessStatusCode || !isKnown, $"{path}: {answer.StatusCode}");
            Assert.DoesNotContain("nothing-here", page, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Every_rule_says_what_to_look_at_and_shows_its_panel()
    {
        Assert.True(Asked.Rules.Count >= 6);
        foreach (var rule in Asked.Rules)
        {
            var annotations = rule.GetProperty("annotations");
            Assert.Matches("[Ll]ook|Make room", annotations.GetProperty("summary").GetString());
            Assert.StartsWith(Files.Address + "/", annotations.GetProperty("runbook_url").GetString(), StringComparison.Ordinal);
            var dashboard = Asked.Dashboards.Single(d => d.GetProperty("uid").GetString() == rule.GetProperty("dashboardUid").GetString());
            Assert.Contains(dashboard.GetProperty("panels").EnumerateArray(), p => p.GetProperty("id").GetInt32() == rule.GetProperty("panelId").GetInt32());

            // Grafana would take a dollar sign there for a variable of its environment.
            Assert.DoesNotContain('$', rule.GetProperty("title").GetString() + rule.GetProperty("labels").GetRawText() + rule.GetProperty("uid").GetString());
        }
    }

    [Fact]
    public void Nothing_is_loaded_from_elsewhere_and_no_secret_is_in_a_file()
    {
        var files = Directory.GetFiles(Folder, "*", SearchOption.AllDirectories).Where(f => Path.GetExtension(f) is ".json" or ".yaml" && !f.Contains("/source/", StringComparison.Ordinal)).ToList();
        Assert.Equal(8, files.Count);
        foreach (var file in files)
        {
            var text = File.ReadAllText(file);
            Assert.All(Address().Matches(text), m => Assert.StartsWith(Files.Address, m.Value, StringComparison.Ordinal));
        }

        var source = File.ReadAllText(Path.Combine(Folder, "provisioning", "datasources", "washbridge.yaml"));
        Assert.All(Secret().Matches(source), m => Assert.Matches(@"\$\{WASHBRIDGE_\w+\}$", m.Value.TrimEnd()));
        Assert.True(Secret().Count(source) >= 4);
    }

    [Fact]
    public void Provisioning_names_the_data_source_that_the_dashboards_use_and_says_how_it_is_asked()
    {
        var yaml = new DeserializerBuilder().Build();
        var source = (Dictionary<object, object>)((List<object>)yaml.Deserialize<Dictionary<string, object>>(File.ReadAllText(Path.Combine(Folder, "provisioning", "datasources", "washbridge.yaml")))["datasources"]).Single();
        Assert.Equal(Files.DataSource()["uid"]!.GetValue<string>(), source["uid"]);
        Assert.Equal(Files.DataSource()["type"]!.GetValue<string>(), source["type"]);
        Assert.Equal("InfluxQL", ((Dictionary<object, object>)source["jsonData"])["version"]);
        var provider = (Dictionary<object, object>)((List<object>)yaml.Deserialize<Dictionary<string, object>>(File.ReadAllText(Path.Combine(Folder, "provisioning", "dashboards", "washbridge.yaml")))["providers"]).Single();
        Assert.Equal("file", provider["type"]);

        // The page for readers names all that has to be set, and nothing else.
        var readme = File.ReadAllText(Path.Combine(Folder, "README.md"));
        var used = Directory.GetFiles(Path.Combine(Folder, "provisioning"), "*", SearchOption.AllDirectories).SelectMany(f => Variable().Matches(File.ReadAllText(f)).Select(m => m.Value)).Where(v => v != "WASHBRIDGE_INFLUX_TOKEN");
        Assert.Equal(used.Distinct().Order(), Variable().Matches(readme).Select(m => m.Value).Distinct().Order());
        Assert.Contains(Files.Address, readme, StringComparison.Ordinal);
        Assert.All(Asked.Dashboards, d => Assert.Contains($"| {d.GetProperty("title")} |", readme, StringComparison.Ordinal));
        Assert.All(Asked.Rules, r => Assert.Contains($"| {r.GetProperty("title")} |", readme, StringComparison.Ordinal));
    }

    private static string Complaint(string type, JsonElement file)
    {
        var path = Path.Combine(Repository.Root, "artifacts", "peers", $"{type}.schema.json");
        Assert.True(File.Exists(path), $"no {path}: run tests/peers/install first");
        var schema = Schemas.GetOrAdd(type, _ => JsonSchema.FromText(File.ReadAllText(path)));
        var result = schema.Evaluate(file, new EvaluationOptions { OutputFormat = OutputFormat.List });
        return result.IsValid ? "" : string.Join('\n', (result.Details ?? []).Where(d => d.Errors is not null).SelectMany(d => d.Errors!.Select(e => $"{d.InstanceLocation}: {e.Key} {e.Value}")).DefaultIfEmpty("invalid"));
    }

    private static readonly System.Collections.Concurrent.ConcurrentDictionary<string, JsonSchema> Schemas = new();

    [GeneratedRegex("""\$\{pages\}([^"]*)""")]
    private static partial Regex Own();

    [GeneratedRegex("""\$\{__data\.fields\.(\w+)(?::percentencode)?\}|\{\{ \$labels\.(\w+) \}\}""")]
    private static partial Regex Filled();

    [GeneratedRegex("""https?://[^"\s]+""")]
    private static partial Regex Address();

    [GeneratedRegex("WASHBRIDGE_[A-Z_]+")]
    private static partial Regex Variable();

    [GeneratedRegex("""^ *(?:# +)?(?:url|user|password|token|httpHeaderValue1|dbName):.*$""", RegexOptions.Multiline)]
    private static partial Regex Secret();
}
