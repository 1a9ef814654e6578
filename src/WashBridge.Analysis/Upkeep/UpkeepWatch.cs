using System.Text.Json;
using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep.Diagnosis;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep;

/// <summary>
/// Watches the health of every part of a washer: what the figures of its cycles say of it, how long it will last, and what likely lies behind it.
/// Tells a forecast when it has changed, and scores it when a person has done something to the part.
/// </summary>
public sealed class UpkeepWatch : IWatch
{
    private const int LookEvery = 50;
    private const int LookAtLeast = 10;
    private const int LookSeldom = 500;
    private const int TellEvery = 1000;
    private const int MostLives = 200;

    private readonly AnalysisSettings _settings;
    private readonly ShiftCalendar _calendar;
    private FeatureBook _book = new();
    private HealthReader _reader;
    private CyclePace _pace;
    private SortedDictionary<string, ComponentTrack> _tracks = new(StringComparer.Ordinal);
    private SortedDictionary<string, List<Lifetime>> _lives = new(StringComparer.Ordinal);
    private readonly Dictionary<(string Index, string Of, int Station), (ComponentTrack Track, IndexTrack Index)> _byIndex = [];
    private SortedSet<string> _drifts = new(StringComparer.Ordinal);
    private string _recipe = "";

    public UpkeepWatch(AnalysisSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        _settings = settings;
        _calendar = new ShiftCalendar(settings.Shifts);
        _pace = new CyclePace(_calendar);
        _reader = new HealthReader(settings.Stations, _book);
    }

    public string Name => "upkeep";

    /// <summary>Makes no forecasts: where only the causes are asked for, which need none, a year takes a fraction of the time.</summary>
    internal bool IsSilent { get; init; }

    public IReadOnlyList<WashEvent> Accept(WashEvent washEvent) => washEvent switch
    {
        CycleMeasured e => Measure(e),
        DriftFound e => Touch(e.Finding.Feature, true),
        DriftEnded e => Touch(e.Feature, false),
        MaintenanceRecorded e => Maintain(e),
        _ => [],
    };

    public string Snapshot() => JsonSerializer.Serialize(
        new UpkeepState
        {
            Recipe = _recipe,
            LastEnd = _reader.LastEnd,
            LastDosed = _reader.LastDosed,
            Dosing = _reader.Dosing,
            Cycle = _book.Cycle,
            Norms = _book.Norms,
            Drains = [.. _reader.Drains.Select(d => d.Snapshot())],
            PaceEnds = _pace.Ends,
            PaceSince = _pace.Since,
            Tracks = [.. _tracks.Values],
            Lives = _lives,
            Drifts = _drifts,
        },
        UpkeepJson.Default.UpkeepState);

    public void Restore(string snapshot)
    {
        var state = JsonSerializer.Deserialize(snapshot, UpkeepJson.Default.UpkeepState) ?? throw new JsonException("a snapshot cannot be null");
        if (state.Drains.Count != _settings.Stations)
        {
            throw new JsonException($"a snapshot of {state.Drains.Count} stations; the washer has {_settings.Stations}");
        }

        _book = new FeatureBook { Norms = new(state.Norms, StringComparer.Ordinal), Cycle = state.Cycle };
        _book.Index();
        _reader = new HealthReader(_settings.Stations, _book) { LastEnd = state.LastEnd, LastDosed = new(state.LastDosed, StringComparer.Ordinal), Dosing = new(state.Dosing, StringComparer.Ordinal) };
        foreach (var (drain, part) in _reader.Drains.Zip(state.Drains))
        {
            drain.Restore(part);
        }

        _pace = new CyclePace(_calendar) { Ends = state.PaceEnds, Since = state.PaceSince };
        _tracks = new(state.Tracks.ToDictionary(t => t.Key), StringComparer.Ordinal);
        _lives = new(state.Lives, StringComparer.Ordinal);
        _drifts = new(state.Drifts, StringComparer.Ordinal);
        _recipe = state.Recipe;
        _byIndex.Clear();
    }

    private IReadOnlyList<WashEvent> Measure(CycleMeasured e)
    {
        var features = e.Features;
        var recipe = $"{features.Recipe} {features.RecipeVersion}";
        if (recipe != _recipe)
        {
            if (_recipe.Length > 0)
            {
                _book.NewRecipe();
            }

            _recipe = recipe;
        }

        TimeSpan? since = _reader.LastEnd is { } last ? features.Ended - last : null;
        _book.NextCycle();
        var readings = _reader.Read(features);
        foreach (var track in _tracks.Values)
        {
            track.Cycles++;
            if (UseCounter.Of(track.Component, features, since) is { } use)
            {
                track.Use += use;
                track.UseCycles++;
            }
        }

        foreach (var reading in readings)
        {
            var (track, index) = Find(reading);
            if (index.Add(track.Cycles, reading.Value, reading.Uncertainty) && index.Jumps)
            {
                track.NextAt = Math.Min(track.NextAt, track.Cycles);
            }
        }

        _pace.Count(features.Ended);
        return IsSilent ? [] : Look(e);
    }

    private (ComponentTrack Track, IndexTrack Index) Find(HealthReading reading)
    {
        var key = (reading.Kind.Name, reading.Of, reading.Station);
        if (_byIndex.TryGetValue(key, out var found))
        {
            return found;
        }

        var component = new Component(reading.Kind.Kind, reading.Of, reading.Station);
        if (!_tracks.TryGetValue(component.Key, out var track))
        {
            _tracks.Add(component.Key, track = new ComponentTrack { Component = component });
        }

        if (!track.Indices.TryGetValue(reading.Kind.Name, out var index))
        {
            track.Indices.Add(reading.Kind.Name, index = new IndexTrack());
        }

        return _byIndex[key] = (track, index);
    }

    private List<WashEvent> Look(CycleMeasured e)
    {
        var found = new List<WashEvent>();
        foreach (var track in _tracks.Values)
        {
            if (track.Cycles < track.NextAt && !track.IsTouched)
            {
                continue;
            }

            var forecast = Maker().Make(track, Drain(track.Component.Station)?.Recent ?? 1, LivesOf(track.Component), _pace, e.Features.Ended);
            track.State = forecast.State;
            track.NextAt = track.Cycles + Pause(forecast);
            if (IsNews(track, forecast))
            {
                forecast = forecast with { Causes = Causes(track, forecast) };
                track.Last = forecast;
                track.LastAt = e.Features.Ended;
                track.LastCycles = track.Cycles;
                found.Add(new ForecastMade { Id = $"{e.CycleId ?? e.Id}/forecast/{track.Key}", Washer = e.Washer, At = e.At, CycleId = e.CycleId, Forecast = forecast });
            }

            track.IsTouched = false;
        }

        return found;
    }

    private ForecastMaker Maker() => new(new IndexLimits(_settings, _book));

    private IndexTrack? Drain(int station) => station > 0 && _tracks.TryGetValue($"drain-valve@{station}", out var track) ? track.Indices.GetValueOrDefault(HealthIndex.Drain.Name) : null;

    private List<Lifetime> LivesOf(Component component) => _lives.GetValueOrDefault(KindKey(component)) ?? [];

    /// <summary>Parts of one kind live alike, at whatever station.</summary>
    private static string KindKey(Component component) => (component with { Station = 0 }).Key;

    /// <summary>A limit that is far away need not be looked at often.</summary>
    private static int Pause(Forecast forecast) => forecast is { State: ForecastState.Approaching, CyclesLeft: { } left }
        ? (int)Math.Clamp(left / 15, LookAtLeast, LookSeldom)
        : forecast.State == ForecastState.NoTrend ? 2 * LookEvery : LookEvery;

    private static bool IsNews(ComponentTrack track, Forecast forecast)
    {
        if (track.Last is not { } last)
        {
            return forecast.State != ForecastState.NotEnoughEvidence;
        }

        var run = track.Cycles >= track.LastCycles ? track.Cycles - track.LastCycles : track.Cycles;
        if (last.State != forecast.State || track.IsTouched || run >= TellEvery)
        {
            return true;
        }

        if (run < LookAtLeast || forecast.State != ForecastState.Approaching)
        {
            return false;
        }

        // Against what the last one would say now.
        var expected = Math.Max(0, (last.CyclesLeft ?? 0) - run);
        var left = forecast.CyclesLeft ?? 0;
        return Math.Abs(left - expected) > 0.1 * Math.Max(left, expected)
            || left < (last.CyclesLeftLower ?? 0) - run || left > (last.CyclesLeftUpper ?? double.PositiveInfinity) - run;
    }

    /// <summary>What likely lies behind what the figures of a part show now, the best fitting first; whether or not anything stands out.</summary>
    public IReadOnlyList<Cause> Diagnose(Component component)
    {
        ArgumentNullException.ThrowIfNull(component);
        var (signs, patterns) = Signs(component);
        return Diagnostician.Rank(signs, patterns);
    }

    /// <summary>What the causes are ranked by.</summary>
    internal (IReadOnlyList<Sign> Signs, IReadOnlyList<CausePattern> Patterns) Signs(Component component) => new SignReader(_book, _settings.Stations).Of(component);

    private IReadOnlyList<Cause> Causes(ComponentTrack track, Forecast forecast) => forecast.State switch
    {
        ForecastState.NotEnoughEvidence => [],
        ForecastState.NoTrend when !_drifts.Any(d => Concerns(d, track.Component)) => [],
        _ => Diagnose(track.Component),
    };

    private IReadOnlyList<WashEvent> Touch(string feature, bool isFound)
    {
        if (isFound ? _drifts.Add(feature) : _drifts.Remove(feature))
        {
            foreach (var track in _tracks.Values)
            {
                track.IsTouched |= track.Last is not null && Concerns(feature, track.Component);
            }
        }

        return [];
    }

    private static bool Concerns(string feature, Component component) =>
        ComponentFigures.Concerns(component, feature.Split('@')[0], feature.Split('@') is [_, var at] && int.TryParse(at, out var station) ? station : 0);

    private List<WashEvent> Maintain(MaintenanceRecorded e)
    {
        var found = new List<WashEvent>();
        if (e.Work == MaintenanceKind.Inspected)
        {
            return found;
        }

        foreach (var track in _tracks.Values)
        {
            if (track.Component.Kind != e.Component.Kind || (e.Component.Of.Length > 0 && track.Component.Of != e.Component.Of)
                || (e.Component.Station > 0 && track.Component.Station != e.Component.Station))
            {
                continue;
            }

            if (Score(track, e) is { } score)
            {
                found.Add(score);
            }

            Renew(track, e);
        }

        return found;
    }

    private static ForecastScored? Score(ComponentTrack track, MaintenanceRecorded e)
    {
        if (track.Last is not { State: not ForecastState.NotEnoughEvidence } last)
        {
            return null;
        }

        var run = track.Cycles - track.LastCycles;
        var index = track.Indices.FirstOrDefault(i => last.Index.StartsWith(i.Key, StringComparison.Ordinal)).Value?.Recent;
        return new ForecastScored
        {
            Id = $"{e.Id}/score/{track.Key}",
            Washer = e.Washer,
            At = e.At,
            CycleId = e.CycleId,
            Score = new ForecastScore(last, track.LastAt, run, index, ForecastWording.Outcome(last, run, e.HadFailed)),
        };
    }

    private void Renew(ComponentTrack track, MaintenanceRecorded e)
    {
        if (e.Work == MaintenanceKind.Replaced)
        {
            // Of the part that was in from before the watching began nobody knows how old it was.
            if (track.IsAgeKnown && track.Use > 0)
            {
                var lives = _lives.TryGetValue(KindKey(track.Component), out var list) ? list : _lives[KindKey(track.Component)] = [];
                lives.Add(new Lifetime(track.Use, e.HadFailed));
                lives.RemoveRange(0, Math.Max(0, lives.Count - MostLives));
            }

            track.Use = 0;
            track.UseCycles = 0;
            track.IsAgeKnown = true;
        }

        track.RestartReference();
        _book.Restart(norm => ComponentFigures.Of(track.Component, norm.Name, norm.Station));
        if (track.Component.Kind == ComponentKind.DrainValve && track.Component.Station is > 0 and var valve && valve <= _reader.Drains.Count)
        {
            _reader.Drains[valve - 1].Restart();
        }
        else if (track.Component.Kind == ComponentKind.DrainSensor && _tracks.TryGetValue($"drain-valve@{track.Component.Station}", out var neighbour))
        {
            // The valve is what it was, but its index was seen through another sensor.
            neighbour.RestartReference();
        }
    }
}
