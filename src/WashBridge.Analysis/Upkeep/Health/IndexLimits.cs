using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>At which value of an index a part counts as failed, and who says so.</summary>
internal sealed class IndexLimits(AnalysisSettings settings, FeatureBook book)
{
    /// <summary>The sensor's changes in a drain beyond the usual that count as failed, and CO2 above what purges reach, bar: common practice, no source.</summary>
    private const double MoreBounces = 4;
    private const double GasReserve = 0.1;

    /// <summary>
    /// Standard uncertainty of limits that were learned, as a share of them: which drain of a cycle meets the time-out first is a matter of chance, and
    /// no cycle that did tells how long it would have taken. The same of the heater's usual limit, which stands for a bath that gets cold. Chosen on simulated washers.
    /// </summary>
    private const double LearnedExactness = 0.04;

    /// <summary>Reference, limit and the limit's standard uncertainty; null: neither is known yet.</summary>
    public (double Reference, double Limit, double Exactness, string Source)? Of(HealthIndex kind, Component component, double recentDrainIndex)
    {
        var reference = Reference(kind, component);
        if (reference is not { } from)
        {
            return null;
        }

        if (settings.Limits.TryGetValue(kind.KeyOf(component), out var own) || settings.Limits.TryGetValue(kind.Name, out own))
        {
            return (from, own, 0, "the site's own limit");
        }

        return Learned(kind, component, from, recentDrainIndex)
            ?? (kind.DefaultLimit is { } usual ? (from, usual, kind == HealthIndex.Heating ? LearnedExactness * usual : 0, HealthIndex.CommonPractice) : null);
    }

    private double? Reference(HealthIndex kind, Component component)
    {
        if (kind == HealthIndex.Late || kind == HealthIndex.Loss)
        {
            return 0;
        }

        if (kind == HealthIndex.Bounce || kind == HealthIndex.Gas)
        {
            return book.Find(kind.Name, component.Station) is { IsLearned: true } norm ? norm.Centre : null;
        }

        return kind == HealthIndex.Heating ? book.Find($"{kind.Name}/{component.Of}", 0) is { IsLearned: true } duty ? duty.Centre : null : 1;
    }

    private (double, double, double, string)? Learned(HealthIndex kind, Component component, double reference, double recentDrainIndex)
    {
        if (kind == HealthIndex.Bounce)
        {
            return (reference, reference + MoreBounces, 0, HealthIndex.CommonPractice);
        }

        if (kind == HealthIndex.Gas)
        {
            var high = book.HighestOf("purge-high");
            return high > 0 && high + GasReserve < reference
                ? (reference, high + GasReserve, 0, "the pressure to which purges fill the kegs")
                : (reference, 0.8 * reference, 0, HealthIndex.CommonPractice);
        }

        var longest = book.LongestDrain(component.Station) / Math.Max(0.1, recentDrainIndex);
        if (settings.DrainTimeout is not { } timeout || longest <= 0)
        {
            return kind == HealthIndex.Late && longest > 0 ? (reference, longest, 0, HealthIndex.CommonPractice) : null;
        }

        const string Source = "the washer's own time-out";
        if (kind == HealthIndex.Drain)
        {
            return (reference, timeout.TotalSeconds / longest, LearnedExactness * timeout.TotalSeconds / longest, Source);
        }

        return kind == HealthIndex.Late ? (reference, timeout.TotalSeconds - longest, LearnedExactness * timeout.TotalSeconds, Source) : null;
    }
}
