using WashBridge.Analysis.Indices;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>One value of a health index in one cycle.</summary>
/// <param name="Kind">Which index.</param>
/// <param name="Of">The bath, or empty.</param>
/// <param name="Station">1 to 8; 0: the washer's.</param>
/// <param name="Value">In the index's unit.</param>
/// <param name="Uncertainty">Its standard uncertainty as a measurement.</param>
internal readonly record struct HealthReading(HealthIndex Kind, string Of, int Station, double Value, double Uncertainty);

/// <param name="Rest">Seconds that the line stood before it; null: not known.</param>
/// <param name="Seconds">That the pump ran so far.</param>
internal sealed record DosingRun(double? Rest, double Seconds);

/// <summary>Makes the health indices of one cycle from its figures and their references. What was not measured is missing.</summary>
internal sealed class HealthReader
{
    private static readonly string[] Baths = ["caustic", "acid", "sanitiser"];

    /// <summary>After a longer rest a line is empty whatever its check valve, and after a shorter one the loss cannot be told, s.</summary>
    private const double LongestRest = 3600;
    private const double ShortestRest = 200;

    private const double Atmosphere = 1.01325;

    /// <summary>A drain of an empty keg, s: the sensor is dry before.</summary>
    public const double ShortestDrain = 1;

    /// <summary>Between the ends of two cycles that follow one another, s.</summary>
    private const double LongestCycle = 900;

    private double? _sinceLast;
    private readonly DrainIndex[] _drains;
    private readonly FeatureBook _book;
    private readonly List<HealthReading> _readings = [];
    private readonly List<(double Usual, double Now, double Uncertainty)>[] _times;

    public HealthReader(int stations, FeatureBook book)
    {
        _book = book;
        _drains = Enumerable.Range(1, stations).Select(s => new DrainIndex(s)).ToArray();
        _times = Enumerable.Range(0, stations + 1).Select(_ => new List<(double, double, double)>()).ToArray();
    }

    public IReadOnlyList<DrainIndex> Drains => _drains;

    /// <summary>End of the cycle before; null: none yet.</summary>
    public Instant? LastEnd { get; set; }

    /// <summary>End of the last cycle in which a chemical was dosed, by bath.</summary>
    public SortedDictionary<string, Instant> LastDosed { get; init; } = new(StringComparer.Ordinal);

    /// <summary>Dosings that have not ended yet, by bath.</summary>
    public SortedDictionary<string, DosingRun> Dosing { get; init; } = new(StringComparer.Ordinal);

    /// <summary>The list is used again for the next cycle.</summary>
    public List<HealthReading> Read(CycleFeatures features)
    {
        _readings.Clear();
        _sinceLast = LastEnd is { } last ? (features.Ended - last).TotalSeconds : null;
        foreach (var drain in _drains)
        {
            if (drain.Accept(features) is { } index)
            {
                _readings.Add(new(HealthIndex.Drain, "", drain.Station, index.Ratio, index.Uncertainty));
            }
        }

        if (features.Outcome == CycleOutcome.Completed)
        {
            ReadFigures(features);
        }

        LastEnd = features.Ended;
        return _readings;
    }

    private void ReadFigures(CycleFeatures features)
    {
        var (head, headUncertainty, heads) = (0.0, 0.0, 0);
        foreach (var times in _times)
        {
            times.Clear();
        }

        foreach (ref readonly var figure in FigureSpan.Of(features.Figures))
        {
            if (_book.Of(figure) is not { } norm)
            {
                continue;
            }

            if (norm.Family == "dosing-time")
            {
                ReadDosing(figure, norm, features.Ended);
                continue;
            }

            switch (norm.IsLearned ? norm.Family : "")
            {
                case "":
                    break;
                case "spray-pressure" when norm.Part != "water" && norm.Centre > Atmosphere + 0.1:
                    head += (figure.Value - Atmosphere) / (norm.Centre - Atmosphere);
                    headUncertainty += figure.Uncertainty / (norm.Centre - Atmosphere);
                    heads++;
                    break;
                case "drain-time" when figure.Station < _times.Length && norm.Centre >= ShortestDrain:
                    _times[figure.Station].Add((norm.Centre, figure.Value, figure.Uncertainty));
                    break;
                default:
                    ReadOne(figure, norm);
                    break;
            }

            _book.See(norm, figure.Value);
        }

        if (heads > 0)
        {
            _readings.Add(new(HealthIndex.Head, "", 0, head / heads, headUncertainty / heads));
        }

        for (var station = 0; station < _times.Length; station++)
        {
            // The longest drain of the cycle is what runs into the time-out: the mean of all says too little of a sensor that sticks at random.
            if (_times[station].Count > 0)
            {
                _readings.Add(new(HealthIndex.Late, "", station, _times[station].Max(t => t.Now) - _times[station].Max(t => t.Usual), _times[station].Max(t => t.Uncertainty)));
            }
        }
    }

    private void ReadOne(Feature figure, FeatureNorm norm)
    {
        switch (norm.Family)
        {
            case "drain-bounce":
                _readings.Add(new(HealthIndex.Bounce, "", figure.Station, figure.Value, figure.Uncertainty));
                break;
            case "dosing-response" when norm.Centre > 0:
                _readings.Add(new(HealthIndex.Dosing, norm.Part, 0, figure.Value / norm.Centre, figure.Uncertainty / norm.Centre));
                break;
            case "heater-time" when _sinceLast is > 0 and <= LongestCycle:
                SeeMade(HealthIndex.Heating, norm.Part, figure.Value / _sinceLast.Value);
                _readings.Add(new(HealthIndex.Heating, norm.Part, 0, figure.Value / _sinceLast.Value, figure.Uncertainty / _sinceLast.Value));
                break;
            case "co2-rest":
                _readings.Add(new(HealthIndex.Gas, "", 0, figure.Value, figure.Uncertainty));
                break;
            case "strength" when norm.Centre > 0:
                _readings.Add(new(HealthIndex.Strength, norm.Part, 0, figure.Value / norm.Centre, figure.Uncertainty / norm.Centre));
                break;
            case "rinse-out" when norm.Centre > 0 && Array.Find(Baths, b => figure.Name.Contains(b, StringComparison.Ordinal)) is { } bath:
                _readings.Add(new(HealthIndex.CarryOver, bath, 0, figure.Value / norm.Centre, figure.Uncertainty / norm.Centre));
                break;
            default:
                break;
        }
    }

    /// <summary>
    /// How much longer a dosing took than in the reference for every 1,000 s that the line stood before it. A tired tube makes it longer too: for the
    /// diagnosis, which tells them apart, it is allowed for. A dosing may run on into the next cycle; most cycles have none, and that is not a short one.
    /// </summary>
    private void ReadDosing(Feature figure, FeatureNorm norm, Instant ended)
    {
        var (begun, seconds) = Dosing.GetValueOrDefault(norm.Part, new DosingRun(null, 0));
        if (figure.Value > 0)
        {
            Dosing[norm.Part] = new DosingRun(seconds > 0 ? begun : RestSince(norm.Part, ended), seconds + figure.Value);
            LastDosed[norm.Part] = ended;
            return;
        }

        if (seconds <= 0)
        {
            return;
        }

        Dosing.Remove(norm.Part);
        if (norm.IsLearned && begun is >= ShortestRest and <= LongestRest and var rest)
        {
            _readings.Add(new(HealthIndex.Loss, norm.Part, 0, (seconds - norm.Centre) / rest * 1000, figure.Uncertainty / rest * 1000));
            SeeMade(HealthIndex.Loss, norm.Part, (seconds - (norm.Centre / Tube(norm.Part))) / rest * 1000);
        }

        _book.See(norm, seconds);
    }

    /// <summary>What a second of dosing does, as a share of the reference.</summary>
    private double Tube(string bath) => _book.Find("dosing-response/" + bath, 0) is { IsLearned: true, Ratio: > 0.2 } response ? response.Ratio : 1;

    /// <summary>Made here and not measured: its reference is kept like those of figures.</summary>
    private void SeeMade(HealthIndex kind, string bath, double value)
    {
        if (_book.Of(new Feature($"{kind.Name}/{bath}", 0, value, 0)) is { } norm)
        {
            _book.See(norm, value);
        }
    }

    private double? RestSince(string bath, Instant ended) => LastDosed.TryGetValue(bath, out var last) ? (ended - last).TotalSeconds : null;

    /// <summary>What comes after the first slash, up to the second.</summary>
    public static string Part(string name)
    {
        var parts = name.Split('/');
        return parts.Length > 1 ? parts[1] : "";
    }
}
