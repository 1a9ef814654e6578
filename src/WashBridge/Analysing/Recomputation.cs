using WashBridge.Analysis;
using WashBridge.Configuration;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Analysing;

/// <summary>How findings that were folded anew compare with those stored.</summary>
/// <param name="Same">Findings that are equal to the byte.</param>
/// <param name="Other">Findings with the same id and another content.</param>
/// <param name="New">Findings that are not stored.</param>
/// <param name="Gone">Stored findings that were not found again.</param>
internal sealed record Recomputation(int Same, int Other, int New, int Gone)
{
    private const int BatchSize = 1000;

    public bool IsSame => Other == 0 && New == 0 && Gone == 0;

    public string Text => IsSame
        ? $"Folded anew: all {Same} findings are the same as those stored, to the byte."
        : $"Folded anew: {Same} findings as stored, {Other} otherwise, {New} not stored, {Gone} stored but not found again. Findings are stored under the settings of their time: after a change of settings, of recipes or of the program they can differ.";

    /// <summary>Folds all events of a site's washers up to an instant. <paramref name="progress"/> hears which share of the log is done, 0 to 1.</summary>
    public static IReadOnlyList<WashEvent> Fold(IHistorianReader historian, Site site, string? washer, Instant until, Action<double>? progress, CancellationToken cancellation)
    {
        var analyses = site.Washers.Where(w => washer is null || w.Model.Washer == washer)
            .ToDictionary(w => w.Model.Washer, w => AnalysisFactory.Create(AnalysisInputs.Settings(w, site)), StringComparer.Ordinal);
        var (findings, cursor, last) = (new List<WashEvent>(), 0L, Math.Max(1, historian.LastSequence));
        while (historian.ReadEventLog(cursor, BatchSize, AnalysisInputs.Kinds) is { Count: > 0 } entries)
        {
            cancellation.ThrowIfCancellationRequested();
            foreach (var each in entries.Select(e => e.Event!).Where(e => e.At.Earliest < until))
            {
                foreach (var (name, analysis) in analyses.Where(a => AnalysisInputs.Concerns(a.Key, each)).OrderBy(a => a.Key, StringComparer.Ordinal))
                {
                    findings.AddRange(analysis.Accept(AnalysisInputs.ToldTo(name, each)));
                }
            }

            cursor = entries[^1].Sequence;
            progress?.Invoke(cursor / (double)last);
        }

        return findings;
    }

    public static Recomputation Compare(IReadOnlyList<WashEvent> anew, IReadOnlyList<WashEvent> stored)
    {
        var before = stored.ToDictionary(f => f.Id, WashJson.Write, StringComparer.Ordinal);
        var (same, other, unknown) = (0, 0, 0);
        foreach (var finding in anew.DistinctBy(f => f.Id))
        {
            if (!before.Remove(finding.Id, out var json))
            {
                unknown++;
            }
            else if (json == WashJson.Write(finding))
            {
                same++;
            }
            else
            {
                other++;
            }
        }

        return new Recomputation(same, other, unknown, before.Count);
    }
}
