using System.Text.Json;
using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Indices;
using WashBridge.Analysis.Statistics;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// Watches all figures of a washer that have charts, its stations' drain indices, how stations differ from each other, and groups of figures together, under one promise.
/// </summary>
public sealed class DriftWatch : IWatch
{
    private readonly AnalysisSettings _settings;
    private readonly CycleLog _log = new();
    private readonly WatchedFigures _figures;
    private readonly WatchedGroups _groups;
    private readonly WatchedDrains _drains;
    private readonly PromiseShares _shares;
    private readonly DriftEvents _events;
    private readonly List<Feature> _differences = [];
    private string? _recipe;

    public DriftWatch(AnalysisSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        _settings = settings;
        var budget = new Budget(settings.FalseAlarmEvery);
        _figures = new WatchedFigures(settings.Washer, budget);
        _groups = new WatchedGroups(_figures, budget);
        _drains = new WatchedDrains(settings.Stations);
        _shares = new PromiseShares(_figures, budget);
        _events = new DriftEvents(_log, _figures, settings.FalseAlarmEvery);
    }

    public string Name => "drift";

    public IReadOnlyList<WashEvent> Accept(WashEvent washEvent)
    {
        ArgumentNullException.ThrowIfNull(washEvent);
        return washEvent switch
        {
            CycleMeasured { Features.Outcome: CycleOutcome.Completed } e => Measure(e),
            MaintenanceRecorded { Work: MaintenanceKind.Replaced or MaintenanceKind.Restored } e => Maintain(e),
            _ => [],
        };
    }

    public string Snapshot()
    {
        var (drains, recipeChanged) = _drains.Save();
        return JsonSerializer.Serialize(
            new DriftWatchState(
                _recipe, _shares.Cycles, _shares.NextCount, _shares.FiguresEvery, _shares.PeersEvery, recipeChanged, drains, _log.Save(), _figures.Save(), _groups.Save()),
            ChartsJson.Default.DriftWatchState);
    }

    public void Restore(string snapshot)
    {
        var state = JsonSerializer.Deserialize(snapshot, ChartsJson.Default.DriftWatchState) ?? throw new JsonException("the snapshot of drifts cannot be null");
        _drains.Load(state.Drains, state.DrainRecipeChanged);
        _recipe = state.Recipe;
        _shares.Load(state.Cycles, state.NextCount, state.FiguresEvery, state.PeersEvery);
        _log.Load(state.Log);
        _figures.Load(state.Figures);
        _groups.Load(state.Groups);
    }

    private List<WashEvent> Measure(CycleMeasured e)
    {
        var found = new List<WashEvent>();
        FollowRecipe(e, found);
        var number = _log.Next;
        var hash = DeterministicHash.Of(e.CycleId ?? e.Id);
        _log.Add(e.CycleId ?? e.Id, e.Features.Ended, e.Features.Kegs);
        foreach (ref readonly var value in FigureSpan.Of(e.Features.Figures))
        {
            Take(e, found, number, hash, _figures.Watched(value), value);
        }

        foreach (var drain in _drains.All)
        {
            if (drain.Accept(e.Features) is { } value)
            {
                ReferAnew(e, found, drain, value);
                Take(e, found, number, hash, _figures.Of(DrainIndex.Name, drain.Station, false), new Feature(DrainIndex.Name, drain.Station, value.Ratio, value.Uncertainty));
            }
        }

        StationPeers.Compare(_figures.OfStations(), number, _differences);
        foreach (var difference in _differences)
        {
            Take(e, found, number, hash, _figures.Peers(difference), difference);
        }

        WatchGroups(e, found, number);
        Count();
        return found;
    }

    /// <param name="figure">Null: it is not watched.</param>
    private void Take(CycleMeasured e, List<WashEvent> found, int number, ulong hash, WatchedFigure? figure, in Feature value)
    {
        if (figure is null)
        {
            return;
        }

        figure.Cycles++;
        (figure.LastCycle, figure.LastValue, figure.LastUncertainty) = (number, value.Value, value.Uncertainty);
        if (figure.Block.Add(number, value.Value, value.Uncertainty) is not { } full)
        {
            return;
        }

        figure.Values++;
        figure.LastCharted = number;
        var news = figure.Chart.Accept(full.First, hash, full.Mean, full.Uncertainty);
        if (news is ChartSignal signal && (_settings.TellSmallChanges || figure.Manner.IsWorthTelling(signal.Size, figure.IsPeers ? 0 : signal.Centre)))
        {
            figure.IsTold = true;
            found.Add(_events.Found(e, figure, signal));
        }
        else if (news is not null and not ChartSignal)
        {
            EndDrift(e, found, figure, DriftEvents.IsBack);
        }
    }

    private static void EndDrift(WashEvent e, List<WashEvent> found, WatchedFigure figure, string reason)
    {
        if (figure.IsTold)
        {
            figure.IsTold = false;
            found.Add(DriftEvents.Ended(e, figure.Key, reason));
        }
    }

    private void WatchGroups(CycleMeasured e, List<WashEvent> found, int number)
    {
        foreach (var group in _groups.All)
        {
            if (_groups.Accept(group, number) is { } news)
            {
                found.Add(news is GroupSignal signal ? _events.Found(e, group, signal) : DriftEvents.Ended(e, group.Key, DriftEvents.IsBack));
            }
        }
    }

    private void Count()
    {
        // Not sooner: an index is there only after it has learnt.
        if (_shares.Count() && !_groups.AreMade && _shares.Cycles > ChartReference.Least)
        {
            _groups.Make(_shares.Cycles);
        }
    }

    /// <summary>Another recipe gives the figures that depend on it another reference; drains decide by what they then measure.</summary>
    private void FollowRecipe(CycleMeasured e, List<WashEvent> found)
    {
        var recipe = $"{e.Features.Recipe}/{e.Features.RecipeVersion}";
        if (_recipe is not null && _recipe != recipe)
        {
            Restart(e, found, f => RecipeDependence.Of(f.Name), DriftEvents.AnotherRecipe);
            _drains.RecipeChanged();
        }

        _recipe = recipe;
    }

    private void ReferAnew(CycleMeasured e, List<WashEvent> found, DrainIndex drain, DrainIndexValue value)
    {
        if (_drains.NeedsAnotherReference(drain, value, () => _figures.Of(DrainIndex.Name, drain.Station, false)))
        {
            Restart(e, found, f => f.Name == DrainIndex.Name && (f.Station == drain.Station || f.IsPeers), DriftEvents.AnotherRecipe);
        }
    }

    private List<WashEvent> Maintain(MaintenanceRecorded e)
    {
        var found = new List<WashEvent>();

        // Baths are changed all the time: their figures' references hold many changes.
        if (e.Component.Kind == ComponentKind.Bath)
        {
            return found;
        }

        if (e.Component.Kind is ComponentKind.DrainValve or ComponentKind.DrainSensor)
        {
            _drains.Restart(e.Component.Station);
        }

        // A station's difference from its peers changes with each of them.
        var everywhere = e.Component with { Station = 0 };
        Restart(e, found, f => FeatureOwner.Owns(f.IsPeers ? everywhere : e.Component, Feature.KeyOf(f.Name, f.Station)), $"maintenance of {e.Component.Key}: its reference begins anew");
        return found;
    }

    private void Restart(WashEvent e, List<WashEvent> found, Func<WatchedFigure, bool> which, string reason)
    {
        var restarted = new HashSet<string>(StringComparer.Ordinal);
        foreach (var figure in _figures.All.Where(which).OrderBy(f => f.Key, StringComparer.Ordinal))
        {
            EndDrift(e, found, figure, reason);
            figure.Chart.Restart();
            figure.Block.Clear();
            restarted.Add(figure.Key);
        }

        found.AddRange(_groups.Restart(restarted).Select(key => DriftEvents.Ended(e, key, reason)));
    }
}
