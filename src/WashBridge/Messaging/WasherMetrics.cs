using System.Globalization;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using WashBridge.Publishing;
using WashBridge.Reporting;

namespace WashBridge.Messaging;

/// <param name="Name">Below the washer, such as <c>Cycle/Phase</c>.</param>
/// <param name="Unit">Where it is always the same.</param>
internal sealed record MetricDefinition(string Name, SparkplugType Type, object? Initial = null, string Unit = "");

/// <param name="Value">As in <see cref="SparkplugMetric.Value"/>.</param>
/// <param name="At">Milliseconds since 1970; 0: nothing was told of it yet.</param>
internal readonly record struct MetricValue(object? Value, long At, string Unit);

/// <param name="Metric">Its place among the washer's metrics.</param>
internal readonly record struct MetricChange(int Metric, MetricValue Value);

/// <summary>One washer's metrics as a fold over its events (SPARKPLUG.md lists them). The names are those of our OPC UA server's nodes where it has them too. No clock.</summary>
internal sealed class WasherMetrics
{
    private readonly IReadOnlyList<MetricDefinition> _definitions;
    private readonly IReadOnlyDictionary<string, int> _places;
    private readonly MetricValue[] _values;
    private readonly AlarmBoard _alarms = new();
    private readonly SortedDictionary<string, DriftFinding> _drifts = new(StringComparer.Ordinal);
    private readonly HashSet<int> _lostGroups = [];

    public WasherMetrics(WasherConfiguration washer)
    {
        _definitions = [.. Define(washer)];
        _places = _definitions.Select((d, i) => (d.Name, i)).ToDictionary(p => p.Name, p => p.i, StringComparer.Ordinal);
        _values = [.. _definitions.Select(d => new MetricValue(d.Initial, 0, d.Unit))];
    }

    private WasherMetrics(WasherMetrics other)
    {
        (_definitions, _places, _values) = (other._definitions, other._places, [.. other._values]);
        _lostGroups.UnionWith(other._lostGroups);
        foreach (var alarm in other._alarms.All)
        {
            _alarms.Take(alarm);
        }

        foreach (var (feature, drift) in other._drifts)
        {
            _drifts[feature] = drift;
        }
    }

    /// <summary>In the order of their places, which is that of the configuration.</summary>
    public IReadOnlyList<MetricDefinition> Definitions => _definitions;

    public IReadOnlyList<MetricValue> Values => _values;

    public MetricValue this[string name] => _values[_places[name]];

    /// <summary>Group 0 holds the sequence: without it nothing can be said of the washer.</summary>
    public bool IsRead => !_lostGroups.Contains(0);

    public WasherMetrics Copy() => new(this);

    /// <summary>What changed by it, in order.</summary>
    public IReadOnlyList<MetricChange> Take(WashEvent washEvent)
    {
        var changes = new Changes(this, washEvent.At.Latest);
        switch (washEvent)
        {
            case CycleStarted e:
                changes.Set("Cycle/Id", e.CycleId);
                changes.Set("Cycle/StartedAt", Milliseconds(e.Edge.Latest.Wall));
                Show(changes, "", 0, "");
                changes.Set("Cycle/Paused", false);
                changes.Set("Cycle/Running", true);
                break;
            case StepStarted e:
                Show(changes, e.Phase, e.Pass, Words.Of(e.Step));
                break;
            case CyclePaused:
                changes.Set("Cycle/Paused", true);
                break;
            case CycleResumed:
                changes.Set("Cycle/Paused", false);
                break;
            case CycleEnded e:
                changes.Set("Cycle/EndedAt", Milliseconds(e.Cycle.End.Latest.Wall));
                changes.Set("Cycle/Outcome", Words.Of(e.Cycle.Outcome));
                changes.Set("Cycle/Count", e.Cycle.CycleCount);
                changes.Set("Cycle/Paused", false);
                changes.Set("Cycle/Running", false);
                break;
            case KegJudged e:
                Take(changes, e.Verdict);
                break;
            case ForecastMade e:
                Take(changes, e.Forecast);
                break;
            case DriftFound e:
                _drifts[e.Finding.Feature] = e.Finding;
                TellDrifts(changes);
                break;
            case DriftEnded e when _drifts.Remove(e.Feature):
                TellDrifts(changes);
                break;
            case AlarmChanged e:
                _alarms.Take(e);
                TellAlarms(changes);
                break;
            case SourceLost e:
                _lostGroups.Add(e.Group);
                changes.Set("Alarms/ConnectionLostReason", e.Reason);
                changes.Set("Alarms/ConnectionLost", true);
                break;
            case SourceRestored e:
                _lostGroups.Remove(e.Group);
                changes.Set("Alarms/ConnectionLost", _lostGroups.Count > 0);
                break;
            default:
                break;
        }

        changes.Set("Data/AsOf", Milliseconds(washEvent.At.Latest));
        return changes.Made;
    }

    private static IEnumerable<MetricDefinition> Define(WasherConfiguration washer)
    {
        yield return new("Data/AsOf", SparkplugType.DateTime);
        yield return new("Cycle/Running", SparkplugType.Boolean);
        yield return new("Cycle/Paused", SparkplugType.Boolean);
        yield return new("Cycle/Id", SparkplugType.String);
        yield return new("Cycle/Phase", SparkplugType.String);
        yield return new("Cycle/Pass", SparkplugType.Int32);
        yield return new("Cycle/Step", SparkplugType.String);
        yield return new("Cycle/StartedAt", SparkplugType.DateTime);
        yield return new("Cycle/EndedAt", SparkplugType.DateTime);
        yield return new("Cycle/Outcome", SparkplugType.String);
        yield return new("Cycle/Count", SparkplugType.Int64, Unit: "cycles");
        for (var station = 1; station <= washer.Model.Stations; station++)
        {
            foreach (var name in new[] { "KegId", "CycleId", "Recipe", "Reasons", "Verdict" })
            {
                yield return new($"Stations/{station}/LastKeg/{name}", SparkplugType.String);
            }
        }

        yield return new("Alarms/ConnectionLost", SparkplugType.Boolean, false);
        yield return new("Alarms/ConnectionLostReason", SparkplugType.String);
        foreach (var name in new[] { "StandingHigh", "StandingMedium", "StandingLow", "Unacknowledged", "Standing" })
        {
            yield return new($"Alarms/{name}", SparkplugType.Int32, 0);
        }

        yield return new("Alarms/HighestPriority", SparkplugType.String, "none");
        yield return new("Alarms/Texts", SparkplugType.String, "");
        yield return new("Alarms/List", SparkplugType.String, "[]");
        yield return new("Drifts/Standing", SparkplugType.Int32, 0);
        yield return new("Drifts/Texts", SparkplugType.String, "");
        foreach (var part in PartNeeds.Of(washer.Model).Where(p => p.IsReached).Select(p => p.Component.Key))
        {
            yield return new($"Forecasts/{part}/State", SparkplugType.String);
            yield return new($"Forecasts/{part}/Now", SparkplugType.Double);
            yield return new($"Forecasts/{part}/Limit", SparkplugType.Double);
            yield return new($"Forecasts/{part}/CyclesLeft", SparkplugType.Double, Unit: "cycles");
            yield return new($"Forecasts/{part}/CyclesLeftLower", SparkplugType.Double, Unit: "cycles");
            yield return new($"Forecasts/{part}/CyclesLeftUpper", SparkplugType.Double, Unit: "cycles");
            yield return new($"Forecasts/{part}/Due", SparkplugType.DateTime);
        }
    }

    private static void Show(Changes changes, string phase, int pass, string step)
    {
        changes.Set("Cycle/Phase", phase);
        changes.Set("Cycle/Pass", pass);
        changes.Set("Cycle/Step", step);
    }

    private static void Take(Changes changes, KegVerdict verdict)
    {
        var path = $"Stations/{verdict.Station}/LastKeg";
        changes.Set($"{path}/KegId", verdict.KegId);
        changes.Set($"{path}/CycleId", verdict.CycleId);
        changes.Set($"{path}/Recipe", $"{verdict.Recipe} version {verdict.RecipeVersion}");
        changes.Set($"{path}/Reasons", string.Join('\n', verdict.Results.Where(r => r.Verdict != Verdict.Met).Select(r => $"{r.Requirement}: {r.Evidence}")));
        changes.Set($"{path}/Verdict", Words.Of(verdict.Verdict));
    }

    private static void Take(Changes changes, Forecast forecast)
    {
        var path = $"Forecasts/{forecast.Component.Key}";
        changes.Set($"{path}/State", Forwarding.Words.Of(forecast.State));
        changes.Set($"{path}/Now", forecast.Now, forecast.Unit);
        changes.Set($"{path}/Limit", forecast.Limit, forecast.Unit);
        changes.Set($"{path}/CyclesLeft", forecast.CyclesLeft, "cycles");
        changes.Set($"{path}/CyclesLeftLower", forecast.CyclesLeftLower, "cycles");
        changes.Set($"{path}/CyclesLeftUpper", forecast.CyclesLeftUpper, "cycles");
        changes.Set($"{path}/Due", forecast.Due is { } due ? Milliseconds(due) : null);
    }

    private void TellDrifts(Changes changes)
    {
        changes.Set("Drifts/Texts", string.Join('\n', _drifts.Values.Select(d =>
            string.Create(CultureInfo.InvariantCulture, $"{d.Feature}: {d.Size:+0.###;-0.###;0} {d.Unit} (standard uncertainty {d.SizeUncertainty:0.###}) since {d.Onset.At}"))));
        changes.Set("Drifts/Standing", _drifts.Count);
    }

    private void TellAlarms(Changes changes)
    {
        var open = _alarms.Open.ToList();
        var standing = open.Where(a => AlarmLifeCycle.Stands(a.To)).ToList();
        int Count(AlarmPriority priority) => standing.Count(a => a.Priority == priority);
        changes.Set("Alarms/StandingHigh", Count(AlarmPriority.High));
        changes.Set("Alarms/StandingMedium", Count(AlarmPriority.Medium));
        changes.Set("Alarms/StandingLow", Count(AlarmPriority.Low));
        changes.Set("Alarms/Unacknowledged", open.Count(a => a.To != AlarmState.Acknowledged));
        changes.Set("Alarms/HighestPriority", standing.Count == 0 ? "none" : Forwarding.Words.Of(standing.Max(a => a.Priority)));
        changes.Set("Alarms/Standing", standing.Count);
        changes.Set("Alarms/Texts", string.Join('\n', standing.Select(a => a.Text.What)));
        changes.Set("Alarms/List", PublishedAlarms.Json(_alarms));
    }

    internal static long Milliseconds(Instant instant) => instant.ToDateTimeOffset().ToUnixTimeMilliseconds();

    /// <summary>Reports by exception: what did not change is not told again. What has no metric (a station or part that the washer no longer has) is left out.</summary>
    private sealed class Changes(WasherMetrics metrics, Instant at)
    {
        private readonly List<MetricChange> _made = [];

        public IReadOnlyList<MetricChange> Made => _made;

        public void Set(string name, object? value, string? unit = null)
        {
            if (value is double number && !double.IsFinite(number))
            {
                value = null;
            }

            if (!metrics._places.TryGetValue(name, out var place) || Equals(metrics._values[place].Value, value))
            {
                return;
            }

            var changed = new MetricValue(value, Milliseconds(at), unit ?? metrics._values[place].Unit);
            metrics._values[place] = changed;
            _made.Add(new MetricChange(place, changed));
        }
    }
}
