using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>What the figures of a washer say about one part, as signs.</summary>
internal sealed class SignReader(FeatureBook book, int stations)
{
    private const double Exact = 0.02;
    private const double Coarse = 0.05;

    /// <summary>A share beyond is as good as at it.</summary>
    private const double LeastOfShare = -0.3;
    private const double MostOfShare = 1.3;

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
        var own = DrainEvidence.Of(book, station);
        if (own is not null)
        {
            AddLateness(signs, own, station);
        }

        Add(signs, "bounce", book.Learned("drain-bounce", station), 0.1, "the sensor's changes in a drain are {0}", least: 0.3);
        Add(signs, "wet-before", book.Learned("drain-wet-before", station), 0.1, "the sensor's wet readings before any liquid are {0}", least: 0.05);
        Add(signs, "air", book.Learned("air-pressure", 0), Exact, "the control air is {0}");
        return signs;
    }

    private void AddLateness(List<Sign> signs, DrainEvidence own, int station)
    {
        var late = own.Late;
        signs.Add(new("drain", Clearly(late), $"the drain of station {station} takes {Times(1 + late.Value)} the reference's time for the liquid", ClearlyUncertainty(late)));
        signs.Add(new("liquid", Clearly(own.ByLiquid), $"the liquid delivered lets expect {Times(1 + own.ByLiquid.Value)} the reference's drain time", ClearlyUncertainty(own.ByLiquid)));
        if (own.ShareByLiquid() is { } byLiquid)
        {
            signs.Add(Share("by-liquid", byLiquid, byLiquid.Value > 0.5 ? "drains are longer where more liquid was put in, and by as much as that explains" : "drains are longer than the liquid explains"));
        }

        var others = Enumerable.Range(1, stations).Where(s => s != station).Select(s => DrainEvidence.Of(book, s)).OfType<DrainEvidence>().ToList();
        if (others.Count > 0)
        {
            var times = Times(1 + TheilSen.Median(others.Select(o => o.Late.Value)));
            var shares = others.Select(o => o.ShareOf(own)).OfType<Estimate>().ToList();
            signs.Add(shares.Count > 0
                ? Share("alike", new(TheilSen.Median(shares.Select(s => s.Value)), shares.Max(s => s.Uncertainty)), $"the other stations take {times} theirs")
                : new("others", TheilSen.Median(others.Select(o => Clearly(o.Late))), $"the other stations take {times} theirs"));
        }

        if (own.Proportional() is { } proportional)
        {
            signs.Add(Share("shape", proportional, proportional.Value > 0.5 ? "long drains are late by more than short ones" : "all drains are late by about as many seconds"));
        }

        if (own.Scatter() is { } scatter)
        {
            signs.Add(Share("scatter", scatter, scatter.Value > 0.3 ? "single drains differ as those of a sensor that sticks do" : "single drains differ no more than those of a slower valve"));
        }
    }

    private static Sign Share(string name, Estimate share, string says) => new(name, Math.Clamp(share.Value, LeastOfShare, MostOfShare), says, share.Uncertainty, IsShare: true);

    private static double Clearly(Estimate share) => Math.Clamp(share.Value / (3 * Exact), -1, 1);

    private static double ClearlyUncertainty(Estimate share) => share.Uncertainty / (3 * Exact);

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
        Add(signs, "time", book.Learned("dosing-time", 0, bath), Coarse, "the dosing pump's run time is {0}", cycles: DosingEvidence.Recent);
        var dosings = DosingEvidence.Of(book, bath);
        if (dosings is { Longer: var longer })
        {
            signs.Add(Share("longer", longer, $"a dosing takes {Times(1 + longer.Value)} the reference's time"));
        }

        if (dosings is { Second: { } second } && dosings.Drawn() is { } drawn)
        {
            signs.Add(Share("drawn", drawn, $"a second of dosing does {Times(second.Value)} what it did, and so the longer dosing brings {(drawn.Value > 0.5 ? "more than" : "about as much as")} before"));
        }
        else
        {
            Add(signs, "response", book.Learned("dosing-response", 0, bath), Coarse, "what a second of dosing does is {0}", cycles: DosingEvidence.Recent);
        }

        Add(signs, "rest", book.Learned("dosing-loss", 0, bath), Coarse, "the seconds of dosing that standing costs are {0}", least: 1.5, cycles: DosingEvidence.Recent);
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

    /// <summary>The median of how clearly the figures moved.</summary>
    private static void Add(List<Sign> signs, string name, IEnumerable<FeatureNorm> norms, double exact, string says, double least = 0, int cycles = FeatureNorm.RecentCycles)
    {
        var list = norms.Select(n => FigureChange.Of(n, cycles)).OfType<FigureChange>().ToList();
        if (list.Count > 0)
        {
            var value = TheilSen.Median(list.Select(n => n.Clearly(exact, least)));
            var uncertainty = TheilSen.Median(list.Select(n => n.ClearlyUncertainty(exact, least)));
            signs.Add(new(name, value, string.Format(says, Moved(value, TheilSen.Median(list.Select(n => n.Usual)), TheilSen.Median(list.Select(n => n.Now)))), uncertainty));
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
