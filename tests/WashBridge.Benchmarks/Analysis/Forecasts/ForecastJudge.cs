using WashBridge.Analysis.Upkeep;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;

namespace WashBridge.Benchmarks.Analysis.Forecasts;

/// <summary>
/// Judges the forecasts and causes of one simulated washer-year by its truth. It is shown every event and what the analysis found in it, and asks the
/// watch for its diagnosis at half and at the end of every episode. The truth goes nowhere else.
/// </summary>
internal sealed class ForecastJudge
{
    private static readonly double[] Shares = [0.25, 0.5, 0.75, 0.9];

    /// <summary>Cycles after the repair within which a forecast still belongs to the episode.</summary>
    private const int Grace = 150;

    private readonly YearTruth _truth;
    private readonly UpkeepWatch _watch;
    private readonly Dictionary<string, int> _numbers = new(StringComparer.Ordinal);
    private readonly Dictionary<string, (int Cycle, Forecast Forecast)> _standing = new(StringComparer.Ordinal);
    private readonly List<ForecastTrial> _trials = [];
    private readonly List<CauseTrial> _causes = [];
    private readonly List<FalseForecast> _false = [];
    private readonly Dictionary<int, string> _told = [];
    private int _cycle;

    public ForecastJudge(YearTruth truth, UpkeepWatch watch)
    {
        (_truth, _watch) = (truth, watch);
        for (var i = 0; i < truth.CycleIds.Count; i++)
        {
            if (truth.CycleIds[i] is { } id)
            {
                _numbers[id] = i + 1;
            }
        }
    }

    /// <summary>Called at each question for a cause.</summary>
    public Action<TrueEpisode, Component>? WhenAsked { get; init; }

    public void Take(WashEvent washEvent, IReadOnlyList<WashEvent> found)
    {
        foreach (var forecast in found.OfType<ForecastMade>())
        {
            Note(forecast.Forecast);
        }

        if (washEvent is CycleMeasured && washEvent.CycleId is { } id && _numbers.TryGetValue(id, out var number))
        {
            for (_cycle++; _cycle <= number; _cycle++)
            {
                Ask(_cycle);
            }

            _cycle = number;
        }
    }

    public YearForecasts Result() => new(_truth.Seed, _truth.Description, _truth.IsFaultFree, _truth.Cycles, _trials, _causes, _false);

    private void Note(Forecast forecast)
    {
        var key = forecast.Component.Key;
        var was = _standing.TryGetValue(key, out var before) ? before.Forecast.State : ForecastState.NotEnoughEvidence;
        _standing[key] = (_cycle, forecast);
        var alarms = forecast.State is ForecastState.Approaching or ForecastState.Reached;
        if (alarms && was is not (ForecastState.Approaching or ForecastState.Reached) && !_truth.Episodes.Any(e => Explains(e, forecast.Component)))
        {
            _false.Add(new FalseForecast(_cycle, key, forecast.Index, forecast.State.ToString(), forecast.CyclesLeft));
        }

        foreach (var episode in _truth.Episodes)
        {
            if (forecast.Causes.Count > 0 && IsRunning(episode) && AskedOf(episode).Key == key)
            {
                _told[episode.Number] = forecast.Causes[0].Name;
            }
        }
    }

    private bool IsRunning(TrueEpisode episode) => _cycle >= episode.FirstCycle && _cycle <= (episode.RepairCycle ?? int.MaxValue);

    /// <summary>An episode that runs, or has just ended, and that moves what the component is judged by.</summary>
    private bool Explains(TrueEpisode episode, Component component) =>
        _cycle >= episode.FirstCycle && _cycle <= (episode.RepairCycle is { } end ? end + Grace : int.MaxValue) && (component.Kind switch
        {
            ComponentKind.DrainValve or ComponentKind.DrainSensor =>
                episode.Kind == EpisodeKind.LowAir || (episode.Kind is EpisodeKind.CloggingValve or EpisodeKind.StickingSensor && episode.Station == component.Station),
            ComponentKind.DosingTube or ComponentKind.DosingCheckValve or ComponentKind.Bath =>
                episode.Kind is EpisodeKind.DosingTube or EpisodeKind.DosingCheckValve or EpisodeKind.WeakBath && AskedOf(episode).Of == component.Of,
            _ => episode.Component == component.Key,
        });

    private void Ask(int cycle)
    {
        foreach (var episode in _truth.Episodes)
        {
            if (episode is { IsGradual: true, FailureCycle: { } end, Component.Length: > 0 })
            {
                foreach (var share in Shares)
                {
                    if (cycle == episode.FirstCycle + (int)(share * (end - episode.FirstCycle)) && end > cycle)
                    {
                        _trials.Add(Trial(episode, share, end - cycle));
                    }
                }
            }

            var last = (episode.RepairCycle ?? _truth.Cycles) - 1;
            if (cycle == last)
            {
                var causes = _watch.Diagnose(AskedOf(episode));
                WhenAsked?.Invoke(episode, AskedOf(episode));
                _causes.Add(new CauseTrial(NameOf(episode.Kind), causes.Count > 0 ? causes[0].Name : "none", _told.GetValueOrDefault(episode.Number, "none"), episode.MixedWith > 0, episode.IsGradual, last - episode.FirstCycle));
            }
        }
    }

    private ForecastTrial Trial(TrueEpisode episode, double share, int left)
    {
        var group = NameOf(episode.Kind);
        if (!_standing.TryGetValue(episode.Component, out var standing) || standing.Forecast.State is not (ForecastState.Approaching or ForecastState.Reached) || standing.Cycle < episode.FirstCycle)
        {
            return new(group, share, left, false, double.NaN, double.NaN, double.NaN);
        }

        // As it stands now: cycles have gone since it was told.
        var run = _cycle - standing.Cycle;
        double Left(double? cycles) => Math.Max(0, (cycles ?? double.PositiveInfinity) - run);
        return new(group, share, left, true, Left(standing.Forecast.CyclesLeftLower), Left(standing.Forecast.CyclesLeft), Left(standing.Forecast.CyclesLeftUpper));
    }

    /// <summary>Of what has no part of its own the drains tell.</summary>
    internal static Component AskedOf(TrueEpisode episode) => episode.Component.Length > 0 ? Component.Parse(episode.Component) : new Component(ComponentKind.DrainValve, "", 1);

    public static string NameOf(EpisodeKind kind) => kind switch
    {
        EpisodeKind.CloggingValve => "clogging-valve",
        EpisodeKind.StickingSensor => "sticking-sensor",
        EpisodeKind.LowAir => "low-air",
        EpisodeKind.LowCo2 => "low-co2",
        EpisodeKind.MoreLiquid => "more-liquid",
        EpisodeKind.WornPump => "worn-pump",
        EpisodeKind.DosingTube => "dosing-tube",
        EpisodeKind.DosingCheckValve => "check-valve",
        EpisodeKind.Heater => "heater",
        _ => "weak-bath",
    };
}
