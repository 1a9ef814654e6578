namespace WashBridge.Benchmarks.Analysis.Forecasts;

/// <summary>What a washer-year showed of forecasts and causes.</summary>
public sealed record YearForecasts(
    int Seed, string Description, bool IsFaultFree, int Cycles, IReadOnlyList<ForecastTrial> Trials, IReadOnlyList<CauseTrial> Causes, IReadOnlyList<FalseForecast> False);

/// <param name="Truth">What went wrong.</param>
/// <param name="Asked">The cause ranked first by the watch at the end of it.</param>
/// <param name="Told">The cause ranked first in the last forecast that told one of the part; <c>none</c>: none did.</param>
/// <param name="IsMixed">Something else went wrong at the same time.</param>
/// <param name="IsGradual">Grew from cycle to cycle.</param>
/// <param name="Cycles">It lasted.</param>
public sealed record CauseTrial(string Truth, string Asked, string Told, bool IsMixed, bool IsGradual, int Cycles);

/// <summary>A part was said to come to its limit, and nothing was wrong that could explain it.</summary>
public sealed record FalseForecast(int Cycle, string Component, string Index, string State, double? CyclesLeft);

/// <summary>All years together.</summary>
/// <param name="Years">Washer-years.</param>
/// <param name="CyclesOfAll">Cycles of all.</param>
/// <param name="Forecasts">By share of life and kind.</param>
/// <param name="Confusion">How often a truth was taken for a cause, single faults only; by asking at the end.</param>
/// <param name="RightFirst">Share of single faults whose cause was ranked first.</param>
/// <param name="RightFirstMixed">The same of faults that came together with another.</param>
/// <param name="RightFirstTold">Share of single faults that were told of with a cause whose cause was right.</param>
/// <param name="FalsePer1000">False forecasts for 1,000 cycles.</param>
public sealed record AllForecasts(
    int Years,
    int CyclesOfAll,
    IReadOnlyList<ForecastFigures> Forecasts,
    IReadOnlyList<Confusion> Confusion,
    double RightFirst,
    double RightFirstMixed,
    double RightFirstTold,
    double FalsePer1000)
{
    public static AllForecasts Of(IReadOnlyCollection<YearForecasts> years)
    {
        var causes = years.SelectMany(y => y.Causes).ToList();
        var single = causes.Where(c => !c.IsMixed).ToList();
        static double Right(IReadOnlyCollection<CauseTrial> trials, Func<CauseTrial, string> said) =>
            trials.Count > 0 ? trials.Count(t => said(t) == t.Truth) / (double)trials.Count : double.NaN;
        return new(
            years.Count,
            years.Sum(y => y.Cycles),
            ForecastFigures.Table(years.SelectMany(y => y.Trials).ToList()),
            [.. single.GroupBy(c => (c.Truth, c.Asked)).OrderBy(g => g.Key).Select(g => new Confusion(g.Key.Truth, g.Key.Asked, g.Count()))],
            Right(single, c => c.Asked),
            Right(causes.Where(c => c.IsMixed).ToList(), c => c.Asked),
            Right(single.Where(c => c.Told != "none").ToList(), c => c.Told),
            1000.0 * years.Sum(y => y.False.Count) / Math.Max(1, years.Sum(y => y.Cycles)));
    }
}

public sealed record Confusion(string Truth, string Said, int Count);
