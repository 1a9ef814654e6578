using System.Text.RegularExpressions;
using WashBridge.Tests.Forwarding;

namespace WashBridge.EndToEnd.Tests.Influx;

/// <summary>The queries that the page for dashboards promises, run against a real server.</summary>
public sealed partial class DashboardQueryTests
{
    [Fact]
    public async Task Every_query_of_the_page_returns_rows()
    {
        var queries = Query().Matches(await File.ReadAllTextAsync(Path.Combine(Repository.Root, "grafana", "README.md"))).Select(m => m.Groups[1].Value).ToList();
        Assert.True(queries.Count >= 6);
        await using var plant = await Plant.StartAsync();
        plant.Add(new WashDay(5, stations: 2).Events(3_000));
        await plant.ForwardAllAsync(plant.Native());

        // Like a panel's time filter; the day of the test's events lies in the future, which a query by time leaves out unless told.
        foreach (var query in queries.Select(q => q.Replace("WHERE ", "WHERE time > '2000-01-01' AND time < '2100-01-01' AND ")))
        {
            Assert.True((await plant.RowsAsync(query)).Count > 0, $"no rows: {query}");
        }
    }

    [GeneratedRegex("```influxql\n(.*?)\n```", RegexOptions.Singleline)]
    private static partial Regex Query();
}
