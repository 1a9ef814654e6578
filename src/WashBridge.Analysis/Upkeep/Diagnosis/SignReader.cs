using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>What the figures of a washer say about one part, as signs.</summary>
internal sealed class SignReader(FeatureBook book, Func<int, IndexTrack?> drainIndex, int stations)
{
    private const double Exact = 0.02;
    private const double Coarse = 0.05;

    public (IReadOnlyList<Sign> Signs, IReadOnlyList<CausePattern> Patterns) Of(Component component) => component.Kind switch
    {
        ComponentKind.DrainValve or ComponentKind.DrainSensor => (Drain(component.Station), CausePatterns.Drain),
        ComponentKind.SprayPump => (Spray(), CausePatterns.Spray),
        ComponentKind.DosingTube or ComponentKind.DosingCheckValve or ComponentKind.Bath => (Dosing(component.Of), CausePatterns.Dosing),
        ComponentKind.Heater => (Heating(component.Of), CausePatterns.Heating),
        _ => (Gas(), CausePatterns.Gas),
    };

    private List<Sign> Drain(int station)
    {
        var signs = new List<Sign>();
        var drain = DrainSign(station);
        if (drain is { } own)
        {
            signs.Add(new("drain", own.Value, $"the drain of station {station} takes {Times(own.Ratio)} the reference's time for the liquid"));
        }

        var others = Enumerable.Range(1, stations).Where(s => s != station).Select(DrainSign).OfType<(double Value, double Ratio)>().ToList();
        if (others.Count > 0)
        {
            signs.Add(new("others", TheilSen.Median(others.Select(o => o.Value)), $"the other stations take {Times(TheilSen.Median(others.Select(o => o.Ratio)))} theirs"));
        }

        Add(signs, "raw", book.Learned("drain-time", station), Coarse, "drain time, whatever the liquid, is {0}");
        if (drain is { Value: > 0.3 } && Shape(station) is { } shape)
        {
            signs.Add(new("shape", shape, shape > 0 ? "long drains are late by more than short ones" : "all drains are late by about as many seconds"));
        }

        var drains = book.Learned("drain-time", station).Where(n => n.Centre >= HealthReader.ShortestDrain).ToList();
        if (drains.Count > 0)
        {
            var scatter = TheilSen.Median(drains.Select(n => n.Scatter / Math.Max(1, n.Ratio)));
            signs.Add(new("scatter", Math.Clamp(Math.Log2(scatter) / 2, -1, 1), scatter > 1.5 ? $"single drains differ {scatter:0.#} times as much as in the reference" : "single drains differ as little as in the reference"));
        }

        Add(signs, "bounce", book.Learned("drain-bounce", station), 0.1, "the sensor's changes in a drain are {0}", least: 0.3);
        Add(signs, "wet-before", book.Learned("drain-wet-before", station), 0.1, "the sensor's wet readings before any liquid are {0}", least: 0.05);
        var liquid = book.Learned("liquid", station).ToList();
        liquid = liquid.Count > 0 ? liquid : book.Learned("liquid", 0).ToList();
        Add(signs, "liquid", liquid.Count > 0 ? liquid : book.Learned("spray-time", 0), Exact, "the liquid delivered is {0}");
        Add(signs, "air", book.Learned("air-pressure", 0), Exact, "the control air is {0}");
        return signs;
    }

    private List<Sign> Spray()
    {
        var signs = new List<Sign>();
        Add(signs, "head", Baths("spray-pressure"), Exact / 2, "the spray pressure is {0}");
        Add(signs, "flow", AllStations("spray-flow").Concat(Baths("spray-flow")), Exact / 2, "the spray flow is {0}");
        Add(signs, "current", Baths("spray-current"), Exact / 2, "the pump's current is {0}");
        Add(signs, "level", book.Learned("level", 0), Coarse, "the bath's level is {0}");
        return signs;
    }

    private List<Sign> Dosing(string bath)
    {
        var signs = new List<Sign>();
        Add(signs, "response", book.Learned("dosing-response", 0, bath), Coarse, "what a second of dosing does is {0}");
        Add(signs, "rest", book.Learned("dosing-loss", 0, bath), Coarse, "the seconds of dosing that standing costs are {0}", least: 1.5);
        Add(signs, "time", book.Learned("dosing-time", 0, bath), Coarse, "the dosing pump's run time is {0}");
        Add(signs, "strength", book.Learned("strength", 0, bath), Exact, "the bath's strength is {0}");
        return signs;
    }

    private List<Sign> Heating(string bath)
    {
        var signs = new List<Sign>();
        Add(signs, "rate", book.Learned("heat-up-rate", 0, bath), Exact, "the heat-up rate is {0}");
        Add(signs, "time", book.Learned("heater-duty", 0, bath), Coarse, "the share of the time in which the heater is on is {0}");
        Add(signs, "temperature", book.Learned("temperature-mean", 0, bath), Exact, "the bath's temperature is {0}");
        return signs;
    }

    private List<Sign> Gas()
    {
        var signs = new List<Sign>();
        Add(signs, "rest", book.Learned("co2-rest", 0), Exact / 2, "the CO2 pressure at rest is {0}");
        Add(signs, "flow", book.Learned("co2-flow", 0), Exact / 2, "the CO2 pressure while gas flows is {0}");
        Add(signs, "rise", AllStations("purge-rise"), Exact, "the time of a pressure rise is {0}");
        Add(signs, "high", AllStations("purge-high"), Exact / 2, "the pressure that purges reach is {0}");
        return signs;
    }

    private IEnumerable<FeatureNorm> AllStations(string family) => Enumerable.Range(0, stations + 1).SelectMany(s => book.Learned(family, s));

    private IEnumerable<FeatureNorm> Baths(string family) => book.Learned(family, 0, "caustic").Concat(book.Learned(family, 0, "acid")).Concat(book.Learned(family, 0, "sanitiser"));

    private (double Value, double Ratio)? DrainSign(int station) => drainIndex(station) is { Recent: { } recent } track
        ? (Math.Clamp((recent - 1) / (3 * Math.Max(track.Spread, Exact)), -1, 1), recent)
        : null;

    /// <summary>1: lateness grows with the usual length of a drain; -1: it is the same for all; null: it cannot be told.</summary>
    private double? Shape(int station)
    {
        var late = book.Learned("drain-time", station).Where(n => n.Centre >= HealthReader.ShortestDrain).Select(n => (Usual: n.Centre, Late: n.Now - n.Centre)).ToList();
        if (late.Count < 2 || late.Max(l => l.Usual) < 1.3 * late.Min(l => l.Usual))
        {
            return null;
        }

        var slope = late.Sum(l => l.Usual * l.Late) / late.Sum(l => l.Usual * l.Usual);
        var mean = late.Average(l => l.Late);
        var proportional = late.Sum(l => Math.Pow(l.Late - (slope * l.Usual), 2));
        var same = late.Sum(l => Math.Pow(l.Late - mean, 2));
        return proportional + same > 0 ? (same - proportional) / (same + proportional) : null;
    }

    /// <summary>The median of how clearly the figures moved.</summary>
    private static void Add(List<Sign> signs, string name, IEnumerable<FeatureNorm> norms, double exact, string says, double least = 0)
    {
        var list = norms.ToList();
        if (list.Count > 0)
        {
            var value = TheilSen.Median(list.Select(n => n.Sign(exact, least)));
            signs.Add(new(name, value, string.Format(says, Moved(value, TheilSen.Median(list.Select(n => n.Centre)), TheilSen.Median(list.Select(n => n.Now))))));
        }
    }

    private static string Moved(double sign, double centre, double now)
    {
        if (Math.Abs(sign) < 0.3)
        {
            return "as in the reference";
        }

        var word = now > centre ? "above" : "below";
        return centre > 0 && Math.Abs(now / centre) < 10 ? $"{Math.Abs((now / centre) - 1) * 100:0.#} % {word} the reference" : $"{word} the reference ({now:0.##} against {centre:0.##})";
    }

    private static string Times(double ratio) => $"{ratio:0.00} times";
}
