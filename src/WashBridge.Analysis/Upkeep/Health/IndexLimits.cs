using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>At which value of an index a part counts as failed, and who says so.</summary>
internal sealed class IndexLimits(AnalysisSettings settings, FeatureBook book)
{
    /// <summary>The sensor's changes in a drain beyond the usual that count as failed, and CO2 above what purges reach, bar: common practice, no source.</summary>
    private const double MoreBounces = 4;
    private const double GasReserve = 0.1;

    /// <summary>Reference and limit; null: neither is known yet.</summary>
    public (double Reference, double Limit, string Source)? Of(HealthIndex kind, Component component, double recentDrainIndex)
    {
        var reference = Reference(kind, component);
        if (reference is not { } from)
        {
            return null;
        }

        if (settings.Limits.TryGetValue(kind.KeyOf(component), out var own) || settings.Limits.TryGetValue(kind.Name, out own))
        {
            return (from, own, "the site's own limit");
        }

        return Learned(kind, component, from, recentDrainIndex) ?? (kind.DefaultLimit is { } usual ? (from, usual, HealthIndex.CommonPractice) : null);
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

    private (double, double, string)? Learned(HealthIndex kind, Component component, double reference, double recentDrainIndex)
    {
        if (kind == HealthIndex.Bounce)
        {
            return (reference, reference + MoreBounces, HealthIndex.CommonPractice);
        }

        if (kind == HealthIndex.Gas)
        {
            var high = book.HighestOf("purge-high");
            return high > 0 && high + GasReserve < reference ? (reference, high + GasReserve, "the pressure to which purges fill the kegs") : (reference, 0.8 * reference, HealthIndex.CommonPractice);
        }

        var longest = book.LongestDrain(component.Station) / Math.Max(0.1, recentDrainIndex);
        if (settings.DrainTimeout is not { } timeout || longest <= 0)
        {
            return kind == HealthIndex.Late && longest > 0 ? (reference, longest, HealthIndex.CommonPractice) : null;
        }

        const string Source = "the washer's own time-out";
        if (kind == HealthIndex.Drain)
        {
            return (reference, timeout.TotalSeconds / longest, Source);
        }

        return kind == HealthIndex.Late ? (reference, timeout.TotalSeconds - longest, Source) : null;
    }
}
