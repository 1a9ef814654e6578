using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;

namespace WashBridge.Analysis.Charts;

/// <summary>Makes events of what charts say: which cycles and kegs it concerns, in words and units.</summary>
internal sealed class DriftEvents(CycleLog log, WatchedFigures figures, double falseAlarmEvery)
{
    public const string IsBack = "it is back within its reference";
    public const string AnotherRecipe = "another recipe: its reference begins anew";

    public DriftFound Found(CycleMeasured e, WatchedFigure figure, ChartSignal signal)
    {
        var (kegs, count) = log.KegsSince(signal.Onset, figure.Station);
        return Found(e, signal.IsWorse ? "worse" : "found", new DriftFinding
        {
            Feature = figure.Key,
            Chart = figure.KindOf(signal),
            Unit = figure.Unit,
            Centre = signal.Centre,
            Spread = signal.Spread,
            ReferenceCycles = signal.ReferenceCycles,
            Size = signal.Size,
            SizeUncertainty = signal.SizeUncertainty,
            Onset = Span(signal.Onset, signal.OnsetEarliest, signal.OnsetLatest),
            CyclesTouched = log.Next - signal.Onset,
            Kegs = kegs,
            KegCount = count,
            FalseAlarmEvery = falseAlarmEvery,
        });
    }

    public DriftFound Found(CycleMeasured e, FigureGroup group, GroupSignal signal)
    {
        var stations = signal.Contributions.Select(c => figures[c.Feature].Station).Distinct().ToArray();
        var (kegs, count) = log.KegsSince(signal.Onset, stations.Length == 1 ? stations[0] : 0);
        return Found(e, "found", new DriftFinding
        {
            Feature = group.Key,
            Chart = ChartKind.Group,
            Unit = "",
            Centre = 0,
            Spread = 1,
            ReferenceCycles = signal.ReferenceCycles,
            Size = signal.Size,
            SizeUncertainty = signal.SizeUncertainty,
            Onset = Span(signal.Onset, signal.OnsetEarliest, signal.OnsetLatest),
            CyclesTouched = log.Next - signal.Onset,
            Kegs = kegs,
            KegCount = count,
            FalseAlarmEvery = falseAlarmEvery,
            Contributions = signal.Contributions,
        });
    }

    /// <param name="key">Of the figure or the group.</param>
    public static DriftEnded Ended(WashEvent e, string key, string reason) => new()
    {
        Id = $"{IdOf(e)}/drift/{key}/ended", Washer = e.Washer, At = e.At, CycleId = e.CycleId, Feature = key, Reason = reason,
    };

    private static DriftFound Found(CycleMeasured e, string what, DriftFinding finding) => new()
    {
        Id = $"{IdOf(e)}/drift/{finding.Feature}/{what}", Washer = e.Washer, At = e.At, CycleId = e.CycleId, Finding = finding,
    };

    private CycleSpan Span(int onset, int earliest, int latest) => new(log.At(onset).Id, log.At(onset).Ended, log.At(earliest).Ended, log.At(latest).Ended);

    private static string IdOf(WashEvent e) => e.CycleId ?? e.Id;
}
