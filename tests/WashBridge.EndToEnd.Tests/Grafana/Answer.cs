using System.Text.Json;

namespace WashBridge.EndToEnd.Tests.Grafana;

/// <summary>One series of an answer: its tags and its rows.</summary>
internal sealed record Series(IReadOnlyDictionary<string, string> Tags, IReadOnlyList<string> Columns, IReadOnlyList<IReadOnlyDictionary<string, JsonElement>> Rows);

/// <summary>What InfluxDB says to a query. A name that does not exist is answered with no series, or with a column or a tag in which there is nothing.</summary>
internal sealed record Answer(IReadOnlyList<Series> Series)
{
    /// <summary>Rows with the tags of their series as cells, as Grafana's tables show them.</summary>
    public IReadOnlyList<IReadOnlyDictionary<string, JsonElement>> Rows =>
        [.. Series.SelectMany(s => s.Rows.Select(r => r.Concat(s.Tags.Select(t => KeyValuePair.Create(t.Key, JsonSerializer.SerializeToElement(t.Value)))).ToDictionary()))];

    /// <summary>Columns and tags in which nothing stands anywhere.</summary>
    public IReadOnlyList<string> Empty =>
    [
        .. Series.SelectMany(s => s.Columns).Distinct().Where(c => Series.SelectMany(s => s.Rows).All(r => r.TryGetValue(c, out var cell) && cell.ValueKind == JsonValueKind.Null)),
        .. Series.SelectMany(s => s.Tags.Keys).Distinct().Where(t => Series.All(s => s.Tags[t].Length == 0)),
    ];

    public static Answer Parse(string json, string query)
    {
        var result = JsonDocument.Parse(json).RootElement.GetProperty("results")[0];
        Assert.False(result.TryGetProperty("error", out var error), $"{error}: {query}");
        return new(result.TryGetProperty("series", out var series) ? [.. series.EnumerateArray().Select(One)] : []);
    }

    public double Number(string column) => Assert.Single(Rows)[column].GetDouble();

    private static Series One(JsonElement series)
    {
        var columns = series.GetProperty("columns").EnumerateArray().Select(c => c.GetString()!).ToList();
        var tags = series.TryGetProperty("tags", out var found) ? found.EnumerateObject().ToDictionary(t => t.Name, t => t.Value.GetString()!) : [];
        return new(tags, columns, [.. series.GetProperty("values").EnumerateArray().Select(v => v.EnumerateArray().Select((c, i) => KeyValuePair.Create(columns[i], c.Clone())).ToDictionary())]);
    }
}

internal static class Cells
{
    public static string Text(this IReadOnlyDictionary<string, JsonElement> row, string column) => row[column] is { ValueKind: JsonValueKind.String } cell ? cell.GetString()! : row[column].ToString();

    public static double? Figure(this IReadOnlyDictionary<string, JsonElement> row, string column) => row[column] is { ValueKind: JsonValueKind.Number } cell ? cell.GetDouble() : null;
}
