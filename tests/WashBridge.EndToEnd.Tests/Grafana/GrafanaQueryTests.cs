using System.Text.RegularExpressions;
using WashBridge.Core.Time;
using Xunit.Sdk;

namespace WashBridge.EndToEnd.Tests.Grafana;

/// <summary>
/// Every query of Grafana's files, as Grafana fills it in, against a real InfluxDB that holds what the program sent. InfluxDB answers a misspelt name with silence, so silence, an empty column and an
/// empty tag are failures here.
/// </summary>
[Collection(nameof(Brewery))]
public sealed partial class GrafanaQueryTests(Brewery brewery)
{
    private static readonly string[] Washers = ["north", "yard"];
    private static readonly string[] Stations = ["1", "2", "3", "4"];

    private Instant From => brewery.Begin - TimeSpan.FromHours(17);

    private Instant To => brewery.End + TimeSpan.FromMinutes(5);

    [Fact]
    public async Task Every_panel_has_something_to_show_in_each_of_its_columns()
    {
        Assert.True(Asked.Panels.Count > 40, $"{Asked.Panels.Count} queries");
        var faults = new List<string>();
        foreach (var asked in Asked.Panels)
        {
            faults.Add(await FaultOf(asked));
        }

        Assert.True(faults.All(f => f == ""), string.Join('\n', faults));
    }

    /// <summary>The check above is worth what it finds: each name of each query is misspelt once.</summary>
    [Fact]
    public async Task A_name_that_is_misspelt_anywhere_is_found()
    {
        var (tried, missed) = (0, new List<string>());
        foreach (var asked in Asked.Panels)
        {
            // The server groups an inner query by what the outer one asks for, whatever the inner one says.
            var inner = InnerGroups().Match(asked.Query);
            foreach (Match name in Name().Matches(asked.Query).Where(n => n.Index < inner.Index || n.Index > inner.Index + inner.Length))
            {
                tried++;
                var misspelt = asked with { Query = asked.Query.Insert(name.Groups[1].Index + 1, "q") };
                if (await FaultOf(misspelt) == "")
                {
                    missed.Add(misspelt.Query);
                }
            }
        }

        Assert.True(missed.Count == 0, string.Join('\n', missed));
        Assert.True(tried > 300, $"{tried} tried");
    }

    [Fact]
    public async Task Units_and_links_are_of_columns_that_there_are()
    {
        var named = 0;
        foreach (var asked in Asked.Panels)
        {
            var answer = await AskAsync(asked.FilledIn(From, To), asked.Where);
            Assert.Empty(asked.Named.Except(answer.Series.SelectMany(s => s.Columns.Concat(s.Tags.Keys))));
            named += asked.Named.Count;
        }

        Assert.True(named >= 30, $"{named} columns");
    }

    [Fact]
    public async Task Several_values_of_a_variable_are_shown_together()
    {
        foreach (var asked in Asked.Panels.Where(a => a.Query.Contains("$washer", StringComparison.Ordinal)))
        {
            var all = await brewery.AskAsync(asked.FilledIn(From, To));
            Assert.Equal(all, await brewery.AskAsync(asked.FilledIn(From, To, washer: "(north|yard)", station: "(1|2|3|4)")));
            Assert.Empty((await AskAsync(asked.FilledIn(From, To, washer: "none"), asked.Where)).Series);
        }
    }

    [Fact]
    public async Task Every_panel_is_asked_in_long_steps_too()
    {
        // A growth needs two steps, and the bridge told for ten minutes.
        foreach (var asked in Asked.Panels.Where(a => a.Query.Contains("$__interval", StringComparison.Ordinal) && !a.Query.Contains("derivative", StringComparison.Ordinal)))
        {
            Assert.NotEmpty((await AskAsync(asked.FilledIn(From, To, interval: "1h"), asked.Where)).Series);
        }
    }

    [Fact]
    public async Task Variables_offer_what_there_is()
    {
        foreach (var asked in Asked.Variables)
        {
            string[] expected = asked.Where.Split('$')[1] switch
            {
                "site" => ["millrace"],
                "washer" => Washers,
                "station" => Stations,
                var other => throw new XunitException($"unknown variable {other}"),
            };
            var rows = (await AskAsync(asked.FilledIn(From, To), asked.Where)).Rows;
            Assert.Equal(expected, rows.Select(r => r.Text("value")).Order(StringComparer.Ordinal));
        }

        var stations = Asked.Variables.First(v => v.Where.EndsWith("$station", StringComparison.Ordinal));
        Assert.Equal(["1", "2"], (await AskAsync(stations.FilledIn(From, To, washer: "north"), stations.Where)).Rows.Select(r => r.Text("value")).Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Every_alert_rule_has_a_number_for_each_that_it_watches()
    {
        foreach (var uid in Asked.Rules.Select(r => r.GetProperty("uid").GetString()!))
        {
            var (rule, asked) = Asked.Rule(uid);

            // Afterwards nobody has a valve that wears.
            var answer = await AskAsync(asked.FilledIn(From, uid == "washbridge-valve" ? brewery.Begin : To), uid);
            Assert.Empty(answer.Empty);
            Assert.NotEmpty(answer.Series);
            Assert.All(answer.Series, s => Assert.Equal(2, s.Columns.Count));
            Assert.All(answer.Series, s => Assert.Equal("millrace", s.Tags["site"]));

            // What the summary names is a label that the query gives.
            foreach (Match label in Label().Matches(rule.GetProperty("annotations").GetRawText()))
            {
                Assert.All(answer.Series, s => Assert.NotEqual("", s.Tags[label.Groups[1].Value]));
            }
        }
    }

    private async Task<string> FaultOf(Asked asked)
    {
        try
        {
            var all = await AskAsync(asked.FilledIn(From, To), asked.Where);
            if (all.Series.Count == 0 || all.Empty.Count > 0)
            {
                return $"{asked.Where}: {(all.Series.Count == 0 ? "no series" : "nothing in " + string.Join(", ", all.Empty))}: {asked.Query}";
            }

            var washers = asked.Query.Contains("$washer", StringComparison.Ordinal) ? Washers : [".*"];
            var stations = asked.Query.Contains("$station", StringComparison.Ordinal) ? Stations : [".*"];
            foreach (var (washer, station) in washers.SelectMany(w => stations.Select(s => (w, s))))
            {
                if ((await AskAsync(asked.FilledIn(From, To, washer: washer, station: station), asked.Where)).Series.Count > 0)
                {
                    return "";
                }
            }

            return $"{asked.Where}: no series for any one washer and station: {asked.Query}";
        }
        catch (XunitException refused)
        {
            return refused.Message;
        }
    }

    private async Task<Answer> AskAsync(string query, string where) => Answer.Parse(await brewery.AskAsync(query), $"{where}: {query}");

    /// <summary>Names in double quotes that are not given by the query itself, and words in single ones.</summary>
    [GeneratedRegex("""(?<! AS )("[a-z_0-9]+"|'[a-z-]+')""")]
    private static partial Regex Name();

    [GeneratedRegex("""GROUP BY [^)]*\)|$""")]
    private static partial Regex InnerGroups();

    [GeneratedRegex("""\{\{ \$labels\.(\w+) \}\}""")]
    private static partial Regex Label();
}
