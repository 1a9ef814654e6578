using WashBridge.Analysis.Alarms;

namespace WashBridge.Configuration.Binding;

/// <summary>What a washer's file tells the analysis.</summary>
internal static class AnalysisBinder
{
    public const int LeastFalseAlarmEvery = 500;
    public const int MostFalseAlarmEvery = 1_000_000;
    public const int MaxLimits = 100;
    public static readonly TimeSpan MostNotReadableAfter = TimeSpan.FromHours(1);

    public static AnalysisConfiguration Bind(MapBinder? map)
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
            Limits = Limits(map),
        };
        map.Finish();
        Unique.Check(map.Node.Find("limits")?.Value, "index", map.Problems);
        return analysis;
    }

    private static Dictionary<string, double> Limits(MapBinder map)
    {
        var limits = new Dictionary<string, double>(StringComparer.Ordinal);
        foreach (var entry in map.OptionalList("limits", 0, MaxLimits).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>())
        {
            var index = entry.Text("index", TextForms.Index);
            var limit = entry.Number("limit", double.MinValue, double.MaxValue);
            entry.Finish();
            limits.TryAdd(index, limit);
        }

        return limits;
    }
}
