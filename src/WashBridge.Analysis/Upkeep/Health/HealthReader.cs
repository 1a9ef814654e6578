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
internal readonly record struct HealthReading(HealthIndex Kind, string Of, int Station, double Value);

/// <summary>Makes the health indices of one cycle from its figures and their references. What was not measured is missing.</summary>
internal sealed class HealthReader
{
    private static readonly string[] Baths = ["caustic", "acid", "sanitiser"];

    /// <summary>A rest between cycles from which on a leaking check valve shows.</summary>
    private static readonly TimeSpan LongRest = TimeSpan.FromHours(1);

    private const double Atmosphere = 1.01325;

    /// <summary>A drain of an empty keg, s: the sensor is dry before.</summary>
    public const double ShortestDrain = 1;

    private readonly DrainIndex[] _drains;
    private readonly FeatureBook _book;
    private readonly List<HealthReading> _readings = [];
    private readonly List<(double Usual, double Now)>[] _times;

    public HealthReader(int stations, FeatureBook book)
    {
        _book = book;
        _drains = Enumerable.Range(1, stations).Select(s => new DrainIndex(s)).ToArray();
        _times = Enumerable.Range(0, stations + 1).Select(_ => new List<(double, double)>()).ToArray();
    }

    public IReadOnlyList<DrainIndex> Drains => _drains;

    /// <summary>End of the cycle before; null: none yet.</summary>
    public Instant? LastEnd { get; set; }

    /// <summary>The list is used again for the next cycle.</summary>
    public List<HealthReading> Read(CycleFeatures features)
    {
        _readings.Clear();
        foreach (var drain in _drains)
        {
            if (drain.Accept(features) is { } index)
            {
                _readings.Add(new(HealthIndex.Drain, "", drain.Station, index.Ratio));
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
        var longRest = LastEnd is { } end && features.Started - end >= LongRest;
        var (head, heads) = (0.0, 0);
        foreach (var times in _times)
        {
            times.Clear();
        }

        foreach (var figure in features.Figures)
        {
            if (_book.Of(figure) is not { } norm)
            {
                continue;
            }

            switch (norm.IsLearned ? norm.Family : "")
            {
                case "":
                    break;
                case "spray-pressure" when norm.Part != "water" && norm.Centre > Atmosphere + 0.1:
                    head += (figure.Value - Atmosphere) / (norm.Centre - Atmosphere);
                    heads++;
                    break;
                case "drain-time" when figure.Station < _times.Length && norm.Centre >= ShortestDrain:
                    _times[figure.Station].Add((norm.Centre, figure.Value));
                    break;
                default:
                    ReadOne(figure, norm, longRest);
                    break;
            }

            _book.See(norm, figure.Value);
        }

        if (heads > 0)
        {
            _readings.Add(new(HealthIndex.Head, "", 0, head / heads));
        }

        for (var station = 0; station < _times.Length; station++)
        {
            if (Intercept(_times[station]) is { } late)
            {
                _readings.Add(new(HealthIndex.Late, "", station, late));
            }
        }
    }

    private void ReadOne(Feature figure, FeatureNorm norm, bool longRest)
    {
        switch (norm.Family)
        {
            case "drain-bounce":
                _readings.Add(new(HealthIndex.Bounce, "", figure.Station, figure.Value));
                break;
            case "dosing-response" when norm.Centre > 0:
                _readings.Add(new(HealthIndex.Dosing, norm.Part, 0, figure.Value / norm.Centre));
                break;
            case "dosing-time" when longRest:
                _readings.Add(new(HealthIndex.Loss, norm.Part, 0, figure.Value - norm.Now));
                break;
            case "heat-up-rate" when norm.Centre > 0:
                _readings.Add(new(HealthIndex.Heating, norm.Part, 0, figure.Value / norm.Centre));
                break;
            case "co2-rest":
                _readings.Add(new(HealthIndex.Gas, "", 0, figure.Value));
                break;
            case "strength" when norm.Centre > 0:
                _readings.Add(new(HealthIndex.Strength, norm.Part, 0, figure.Value / norm.Centre));
                break;
            case "rinse-out" when norm.Centre > 0 && Array.Find(Baths, b => figure.Name.Contains(b, StringComparison.Ordinal)) is { } bath:
                _readings.Add(new(HealthIndex.CarryOver, bath, 0, figure.Value / norm.Centre));
                break;
            default:
                break;
        }
    }

    /// <summary>What comes after the first slash, up to the second.</summary>
    public static string Part(string name)
    {
        var parts = name.Split('/');
        return parts.Length > 1 ? parts[1] : "";
    }

    /// <summary>
    /// Seconds by which all drains are later whatever their usual length: what a clogged valve does to drains grows with their length, and what a sensor
    /// does not. Null: fewer than three drains, or all about as long.
    /// </summary>
    public static double? Intercept(IReadOnlyList<(double Usual, double Now)> times)
    {
        if (times.Count < 3 || times.Max(t => t.Usual) < 1.5 * times.Min(t => t.Usual))
        {
            return null;
        }

        // Plain least squares: a handful of numbers in every cycle.
        var (mx, my) = (times.Average(t => t.Usual), times.Average(t => t.Now));
        var (xx, xy) = (0.0, 0.0);
        foreach (var (usual, now) in times)
        {
            xx += (usual - mx) * (usual - mx);
            xy += (usual - mx) * (now - my);
        }

        return my - (xy / xx * mx);
    }
}
