using System.Text.Json;
using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Indices;
using WashBridge.Analysis.Statistics;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// Watches all figures of a washer that have charts, its stations' drain indices, how stations differ from each other, and groups of figures together, under one promise.
/// </summary>
public sealed class DriftWatch : IWatch
{
    private const int MostFigures = 600;

    // Fewer stations have no peers to speak of: with two, one difference says all.
    private const int LeastPeers = 2;

    // Of the spread of single cycles: a step of that size is found, sooner or later.
    private const double NoticeableShare = 0.2;
    private const double UsualShare = 0.7;

    private readonly AnalysisSettings _settings;
    private readonly Budget _budget;
    private readonly CycleLog _log = new();
    private readonly Dictionary<(string Name, int Station, bool IsPeers), WatchedFigure> _figures = [];
    private readonly Dictionary<string, WatchedFigure> _byKey = new(StringComparer.Ordinal);

    // What the catalogue says, kept because every cycle asks for the same names.
    private readonly Dictionary<string, bool> _watched = new(StringComparer.Ordinal);
    private readonly DrainIndex[] _drains;
    private readonly bool[] _drainRecipeChanged;
    private int _cycles;
    private int _nextCount = ChartReference.Least;
    private List<FigureGroup>? _groups;
    private List<(string Name, WatchedFigure[] Stations)>? _peers;
    private double _figuresEvery;
    private double _peersEvery;
    private string? _recipe;

    public DriftWatch(AnalysisSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        _settings = settings;
        _budget = new Budget(settings.FalseAlarmEvery);
        _drains = [.. Enumerable.Range(1, settings.Stations).Select(s => new DrainIndex(s))];
        _drainRecipeChanged = new bool[settings.Stations];
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

    public string Snapshot() => JsonSerializer.Serialize(
        new DriftWatchState(
            _recipe, _cycles, _nextCount, _figuresEvery, _peersEvery, [.. _drainRecipeChanged], [.. _drains.Select(d => d.Snapshot())], _log.Save(),
            [.. _figures.Values.Select(f => new WatchedFigureState(f.Name, f.Station, f.IsPeers, f.Values, f.LastCycle, f.LastValue, f.Chart.Save(), f.Block.Save(), f.Cycles, f.LastUncertainty, f.LastCharted, f.IsTold))],
            _groups?.Select(g => g.Save()).ToArray()),
        ChartsJson.Default.DriftWatchState);

    public void Restore(string snapshot)
    {
        var state = JsonSerializer.Deserialize(snapshot, ChartsJson.Default.DriftWatchState) ?? throw new JsonException("the snapshot of drifts cannot be null");
        if (state.Drains.Length != _drains.Length)
        {
            throw new JsonException($"the snapshot is of a washer with {state.Drains.Length} stations, this one has {_drains.Length}");
        }

        (_recipe, _cycles, _nextCount, _figuresEvery, _peersEvery) = (state.Recipe, state.Cycles, state.NextCount, state.FiguresEvery, state.PeersEvery);
        state.DrainRecipeChanged.CopyTo(_drainRecipeChanged, 0);
        for (var i = 0; i < _drains.Length; i++)
        {
            _drains[i].Restore(state.Drains[i]);
        }

        _log.Load(state.Log);
        _figures.Clear();
        _byKey.Clear();
        _peers = null;
        foreach (var one in state.Figures)
        {
            var figure = FigureOf(one.Name, one.Station, one.IsPeers)!;
            (figure.Values, figure.LastCycle, figure.LastValue) = (one.Values, one.LastCycle, one.LastValue);
            (figure.Cycles, figure.LastUncertainty, figure.LastCharted, figure.IsTold) = (one.Cycles, one.LastUncertainty, one.LastCharted, one.IsTold);
            figure.Block.Load(one.Block);
            figure.Chart.Load(one.Chart, one.Chart.Every is { } every ? _budget.Design(every) : null);
        }

        _groups = state.Groups is null ? null : [];
        foreach (var one in state.Groups ?? [])
        {
            var group = new FigureGroup(one.Key, one.Members);
            group.Load(one);
            _groups!.Add(group);
        }
    }

    private List<WashEvent> Measure(CycleMeasured e)
    {
        var found = new List<WashEvent>();
        FollowRecipe(e, found);
        var number = _log.Next;
        var hash = DeterministicHash.Of(e.CycleId ?? e.Id);
        _log.Add(e.CycleId ?? e.Id, e.Features.Ended, e.Features.Kegs);
        foreach (var figure in e.Features.Figures)
        {
            if (IsWatched(figure.Name))
            {
                Take(e, found, number, hash, figure);
            }
        }

        foreach (var drain in _drains)
        {
            if (drain.Accept(e.Features) is { } value)
            {
                ReferAnew(e, found, drain, value);
                Take(e, found, number, hash, new Feature(DrainIndex.Name, drain.Station, value.Ratio, value.Uncertainty));
            }
        }

        ComparePeers(e, found, number, hash);
        WatchGroups(e, found, number);
        Count();
        return found;
    }

    private void Take(CycleMeasured e, List<WashEvent> found, int number, ulong hash, Feature value, bool isPeers = false)
    {
        if (FigureOf(value.Name, value.Station, isPeers) is not { } figure)
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
        if (news is ChartSignal signal && (_settings.TellSmallChanges || figure.Manner.IsWorthTelling(signal.Size, isPeers ? 0 : signal.Centre)))
        {
            figure.IsTold = true;
            found.Add(Found(e, figure, signal));
        }
        else if (news is not null and not ChartSignal)
        {
            EndDrift(e, found, figure, "it is back within its reference");
        }
    }

    private static void EndDrift(WashEvent e, List<WashEvent> found, WatchedFigure figure, string reason)
    {
        if (figure.IsTold)
        {
            figure.IsTold = false;
            found.Add(Ended(e, figure.Key, reason));
        }
    }

    private bool IsWatched(string name)
    {
        if (!_watched.TryGetValue(name, out var isWatched))
        {
            isWatched = FeatureCatalogue.Find(name) is { IsWatched: true };
            if (_watched.Count < 4 * MostFigures)
            {
                _watched.Add(name, isWatched);
            }
        }

        return isWatched;
    }

    /// <summary>Null: there are too many.</summary>
    private WatchedFigure? FigureOf(string name, int station, bool isPeers)
    {
        if (!_figures.TryGetValue((name, station, isPeers), out var figure) && _figures.Count < MostFigures)
        {
            figure = new WatchedFigure(name, station, isPeers, _settings.Washer);
            _figures.Add((name, station, isPeers), figure);
            _byKey.Add(figure.Key, figure);
            _peers = isPeers ? _peers : null;
        }

        return figure;
    }

    /// <summary>Each station's difference from the median of the others, in figures that several stations have: what moves all of them alike drops out.</summary>
    private void ComparePeers(CycleMeasured e, List<WashEvent> found, int number, ulong hash)
    {
        Span<double> values = stackalloc double[_settings.Stations];
        foreach (var (name, stations) in PeersByName())
        {
            var (count, squares) = (0, 0.0);
            foreach (var station in stations)
            {
                if (station.LastCycle == number)
                {
                    values[count++] = station.LastValue;

                    // Not less than the difference's own: one value known badly makes it known badly.
                    squares += station.LastUncertainty * station.LastUncertainty;
                }
            }

            // Of two stations one difference tells all.
            var left = count == 2 ? 1 : count;
            foreach (var station in stations)
            {
                if (count >= LeastPeers && station.LastCycle == number && left-- > 0)
                {
                    var others = Others(values[..count], station.LastValue);
                    Take(e, found, number, hash, new Feature(name, station.Station, station.LastValue - others, Math.Sqrt(squares)), isPeers: true);
                }
            }
        }
    }

    /// <summary>Median of the values without one of them.</summary>
    private static double Others(ReadOnlySpan<double> values, double without)
    {
        Span<double> others = stackalloc double[values.Length];
        values.CopyTo(others);
        others.Sort();
        var at = others.IndexOf(without);
        others[(at + 1)..].CopyTo(others[at..]);
        var count = values.Length - 1;
        return count % 2 == 1 ? others[count / 2] : (others[(count / 2) - 1] + others[count / 2]) / 2;
    }

    /// <summary>Figures of stations by name, the stations in order; worked out anew when there is a new figure.</summary>
    private List<(string Name, WatchedFigure[] Stations)> PeersByName()
    {
        if (_peers is null)
        {
            _peers = [.. _figures.Values.Where(f => f is { Station: > 0, IsPeers: false })
                .GroupBy(f => f.Name)
                .OrderBy(g => g.Key, StringComparer.Ordinal)
                .Select(g => (g.Key, g.OrderBy(f => f.Station).ToArray()))
                .Where(g => g.Item2.Length >= LeastPeers)];
        }

        return _peers;
    }

    private void WatchGroups(CycleMeasured e, List<WashEvent> found, int number)
    {
        foreach (var group in _groups ?? [])
        {
            var members = group.Figures ??= [.. group.Members.Select(m => _byKey[m])];
            if (Array.Exists(members, m => m.Chart.IsDrifting))
            {
                group.StandStill();
            }
            else if (Array.TrueForAll(members, m => m.LastCharted > group.LastCharted && m.Chart.HasScore)
                && group.Accept(number, Array.ConvertAll(members, m => (float)m.Chart.LastScore)) is { } news)
            {
                found.Add(news is GroupSignal signal ? Found(e, group, signal) : Ended(e, group.Key, "it is back within its reference"));
            }
        }
    }

    // Figures that are there in nearly every cycle: a group needs all of its figures at once.
    private void MakeGroups()
    {
        var members = new SortedDictionary<string, List<string>>(StringComparer.Ordinal);
        foreach (var figure in _figures.Values.Where(f => !f.IsPeers && f.Cycles >= UsualShare * _cycles).OrderBy(f => f.Key, StringComparer.Ordinal))
        {
            foreach (var group in FigureGroups.Of(figure.Name))
            {
                (members.TryGetValue(group, out var list) ? list : members[group] = []).Add(figure.Key);
            }
        }

        _groups = [.. members.Where(m => m.Value.Count > 1).Select(m => new FigureGroup(m.Key, [.. m.Value.Take(FigureGroups.Most)]))];
        foreach (var group in _groups)
        {
            group.Promise(_budget.OfGroups(_groups.Count) / group.Members.Max(m => _byKey[m].Manner.Block));
        }
    }

    /// <summary>How many figures share the promise is known after the first reference, and better whenever the cycles have doubled.</summary>
    private void Count()
    {
        _cycles++;
        if (_cycles == _nextCount)
        {
            _nextCount *= 2;
            Promise();

            // Not sooner: an index is there only after it has learnt.
            if (_groups is null && _cycles > ChartReference.Least)
            {
                MakeGroups();
            }
        }
        else if (_cycles > ChartReference.Least)
        {
            foreach (var figure in _figures.Values)
            {
                if (figure.Chart.FalseAlarmEvery is null)
                {
                    figure.Chart.Promise(_budget.Design(figure.IsPeers ? _peersEvery : _figuresEvery));
                }
            }
        }
    }

    private void Promise()
    {
        var figures = _figures.Values.Where(f => !f.IsPeers).Sum(f => f.Values) / (double)_cycles;
        var peers = _figures.Values.Where(f => f.IsPeers).Sum(f => f.Values) / (double)_cycles;
        var (ofFigures, ofPeers) = (_budget.OfFigures(figures), _budget.OfPeers(peers));
        (_figuresEvery, _peersEvery) = (ofFigures.Every, ofPeers.Every);
        foreach (var figure in _figures.Values)
        {
            figure.Chart.Promise(figure.IsPeers ? ofPeers : ofFigures);
        }
    }

    /// <summary>Another recipe gives the figures that depend on it another reference; drains decide by what they then measure.</summary>
    private void FollowRecipe(CycleMeasured e, List<WashEvent> found)
    {
        var recipe = $"{e.Features.Recipe}/{e.Features.RecipeVersion}";
        if (_recipe is not null && _recipe != recipe)
        {
            Restart(e, found, f => RecipeDependence.Of(f.Name), "another recipe: its reference begins anew");
            Array.Fill(_drainRecipeChanged, true);
        }

        _recipe = recipe;
    }

    /// <summary>After a change of the recipe: is what the index cannot know of the new litres small against what the chart can see?</summary>
    private void ReferAnew(CycleMeasured e, List<WashEvent> found, DrainIndex drain, DrainIndexValue value)
    {
        if (!_drainRecipeChanged[drain.Station - 1])
        {
            return;
        }

        _drainRecipeChanged[drain.Station - 1] = false;
        var isBlind = value.DrainsByLitres < value.Drains;
        if (isBlind)
        {
            drain.Restart();
        }

        if (isBlind || (FigureOf(DrainIndex.Name, drain.Station, false) is { } figure && value.Systematic > NoticeableShare * figure.Chart.ReferenceSpread))
        {
            Restart(e, found, f => f.Name == DrainIndex.Name && (f.Station == drain.Station || f.IsPeers), "another recipe: its reference begins anew");
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
            foreach (var drain in _drains.Where(d => e.Component.Station == 0 || e.Component.Station == d.Station))
            {
                drain.Restart();
            }
        }

        // A station's difference from its peers changes with each of them.
        var everywhere = e.Component with { Station = 0 };
        Restart(e, found, f => FeatureOwner.Owns(f.IsPeers ? everywhere : e.Component, Feature.KeyOf(f.Name, f.Station)), $"maintenance of {e.Component.Key}: its reference begins anew");
        return found;
    }

    private void Restart(WashEvent e, List<WashEvent> found, Func<WatchedFigure, bool> which, string reason)
    {
        var restarted = new HashSet<string>(StringComparer.Ordinal);
        foreach (var figure in _figures.Values.Where(which).OrderBy(f => f.Key, StringComparer.Ordinal))
        {
            EndDrift(e, found, figure, reason);
            figure.Chart.Restart();
            figure.Block.Clear();
            restarted.Add(figure.Key);
        }

        foreach (var group in (_groups ?? []).Where(g => g.Members.Any(restarted.Contains)))
        {
            if (group.IsDrifting)
            {
                found.Add(Ended(e, group.Key, reason));
            }

            group.Restart();
        }
    }

    private DriftFound Found(CycleMeasured e, WatchedFigure figure, ChartSignal signal)
    {
        var (kegs, count) = _log.KegsSince(signal.Onset, figure.Station);
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
            CyclesTouched = _log.Next - signal.Onset,
            Kegs = kegs,
            KegCount = count,
            FalseAlarmEvery = _settings.FalseAlarmEvery,
        });
    }

    private DriftFound Found(CycleMeasured e, FigureGroup group, GroupSignal signal)
    {
        var stations = signal.Contributions.Select(c => _byKey[c.Feature].Station).Distinct().ToArray();
        var (kegs, count) = _log.KegsSince(signal.Onset, stations.Length == 1 ? stations[0] : 0);
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
            CyclesTouched = _log.Next - signal.Onset,
            Kegs = kegs,
            KegCount = count,
            FalseAlarmEvery = _settings.FalseAlarmEvery,
            Contributions = signal.Contributions,
        });
    }

    private static DriftFound Found(CycleMeasured e, string what, DriftFinding finding) => new()
    {
        Id = $"{IdOf(e)}/drift/{finding.Feature}/{what}", Washer = e.Washer, At = e.At, CycleId = e.CycleId, Finding = finding,
    };

    private CycleSpan Span(int onset, int earliest, int latest) => new(_log.At(onset).Id, _log.At(onset).Ended, _log.At(earliest).Ended, _log.At(latest).Ended);

    private static DriftEnded Ended(WashEvent e, string key, string reason) => new()
    {
        Id = $"{IdOf(e)}/drift/{key}/ended", Washer = e.Washer, At = e.At, CycleId = e.CycleId, Feature = key, Reason = reason,
    };

    private static string IdOf(WashEvent e) => e.CycleId ?? e.Id;
}

/// <summary>What the watch remembers.</summary>
internal sealed record DriftWatchState(
    string? Recipe, int Cycles, int NextCount, double FiguresEvery, double PeersEvery, bool[] DrainRecipeChanged, string[] Drains, CycleLogState Log, WatchedFigureState[] Figures,
    FigureGroupState[]? Groups);

internal sealed record WatchedFigureState(string Name, int Station, bool IsPeers, int Values, int LastCycle, double LastValue, FeatureChartState Chart, ValueBlockState Block, int Cycles, double LastUncertainty, int LastCharted,
    bool IsTold);
