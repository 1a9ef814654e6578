using WashBridge.Simulator.Truth;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>An episode that has begun: looks at each true cycle whether it has failed, and whether it is to be put right.</summary>
internal sealed class RunningEpisode(EpisodeCourse course, TrueEpisode truth, double targetCel)
{
    private const int ColdCyclesOfFailure = 3;
    private const double ColdKelvin = 3;
    private const int LevelEvery = 10;
    private int _cold;

    public EpisodeCourse Course => course;

    public TrueEpisode Truth => truth;

    /// <summary>Looks at a cycle that has ended.</summary>
    /// <returns>It is to be put right before the next.</returns>
    public bool Follow(TrueCycle cycle)
    {
        var level = course.Level(cycle.Health!);
        var age = cycle.Number - truth.FirstCycle;
        if (age % LevelEvery == 0)
        {
            truth.Levels.Add(new TrueLevel(cycle.Number, level));
        }

        if (truth.FailureCycle is null && HasFailed(cycle, level))
        {
            truth.FailureCycle = cycle.Number;
        }

        return truth.FailureCycle is { } failed
            ? cycle.Number >= failed + course.Delay
            : course.IsGradual ? level >= course.EarlyAt || age >= 3 * course.Cycles : age >= course.Cycles;
    }

    private bool HasFailed(TrueCycle cycle, double level)
    {
        if (course.IsOfDrains)
        {
            return cycle.Outcome == TrueOutcome.Faulted
                && cycle.Drains.Any(d => d.Station == course.Station && d.End == cycle.End && (d.Dry is null || cycle.End - d.Dry < TimeSpan.FromSeconds(1)));
        }

        if (course.Kind == EpisodeKind.Heater)
        {
            _cold = cycle.Health!.Baths[0].Cel < targetCel - ColdKelvin ? _cold + 1 : 0;
            return _cold >= ColdCyclesOfFailure;
        }

        return level >= course.Limit;
    }
}
