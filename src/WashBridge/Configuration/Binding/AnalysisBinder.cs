using WashBridge.Analysis.Alarms;

namespace WashBridge.Configuration.Binding;

/// <summary>What a washer's file tells the analysis.</summary>
internal static class AnalysisBinder
{
    public const int LeastFalseAlarmEvery = 500;
    public const int MostFalseAlarmEvery = 1_000_000;
    public const int MaxLimits = 100;
    public static readonly TimeSpan MostNotReadableAfter = TimeSpan.FromHours(1);

    /// <param name="stations">Of the washer: the most that the limit of a station's index may name.</param>
    public static AnalysisConfiguration Bind(MapBinder? map, int stations)
    {
        var standard = new AnalysisConfiguration();
        if (map is null)
        {
            return standard;
        }

        var alarms = standard.Alarms;
        var analysis = new AnalysisConfiguration
        {
            FalseAlarmEvery = map.Integer("false-alarm-every", LeastFalseAlarmEvery, MostFalseAlarmEvery, (int)standard.FalseAlarmEvery),
            Alarms = new AlarmSettings
            {
                WarnBefore = map.Integer("warn-before", 1, 100_000, alarms.WarnBefore),
                NotMetInARow = map.Integer("not-met-in-a-row", 1, 1000, alarms.NotMetInARow),
                NotReadableAfter = map.Duration("not-readable-after", TimeSpan.FromSeconds(1), MostNotReadableAfter, alarms.NotReadableAfter),
            },
            TellSmallChanges = map.Flag("tell-small-changes", standard.TellSmallChanges),
            Limits = Limits(map, stations),
        };
        map.Finish();
        Unique.Check(map.Node.Find("limits")?.Value, "index", map.Problems);
        return analysis;
    }

    private static Dictionary<string, double> Limits(MapBinder map, int stations)
    {
        var limits = new Dictionary<string, double>(StringComparer.Ordinal);
        foreach (var entry in map.OptionalList("limits", 0, MaxLimits).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>())
        {
            var index = Index(entry, stations);
            var limit = entry.Number("limit", double.MinValue, double.MaxValue);
            entry.Finish();
            limits.TryAdd(index, limit);
        }

        return limits;
    }

    private static string Index(MapBinder entry, int stations)
    {
        var allowed = IndexNames.Allowed(stations);
        if (entry.Require("index", IndexNames.Describe(stations)) is not { } node || Scalars.Text(node, TextForms.Line, entry.Problems) is not { } index)
        {
            return "";
        }

        if (!allowed.Contains(index))
        {
            entry.Problems.Add(node.Place, $"there is no such index{Suggestion.For(index, allowed)}", $"\"{index}\"", IndexNames.Describe(stations));
        }

        return index;
    }
}
