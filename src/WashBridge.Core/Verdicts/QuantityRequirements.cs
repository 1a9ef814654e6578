using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts.Calculations;

namespace WashBridge.Core.Verdicts;

/// <summary>Requirements on measured quantities over time: temperature, strength, pressure.</summary>
internal static class QuantityRequirements
{
    /// <summary>How many standard uncertainties are taken from a reading before it counts: about 97.7 % on one side for a normal distribution.</summary>
    private const double Coverage = 2;

    /// <summary>
    /// Time at or beyond a value. Counted below only between two readings that are both beyond by twice the sensor's uncertainty; counted above
    /// unless both certainly are not. A value held on change is known only within its dead band, which is not known here: a recipe's
    /// sensor uncertainty must allow for it.
    /// </summary>
    public static Finding Judge(TimeBeyond requirement, CycleView view, StationRecord station, DecisionRule rule)
    {
        var (value, margin) = (requirement.Value, Coverage * requirement.SensorUncertainty);
        (double, double) Rates(double low, double high) => requirement.Below
            ? (high + margin <= value ? 1 : 0, low - margin <= value ? 1 : 0)
            : (low - margin >= value ? 1 : 0, high + margin >= value ? 1 : 0);

        var sense = requirement.Below ? "at or below" : "at or above";
        var what = $"{requirement.Signal} was {sense} {Wording.Quantity(value, Unit(requirement.Signal))} in {Wording.List(requirement.Phases)} for";
        return Integrate(requirement.Signal, requirement.Phases, view, station, Rates, 1, "s", 1, requirement.AtLeast.TotalSeconds, rule, what);
    }

    /// <summary>Dose from the lower reading of each pair less twice the uncertainty (counted below) and from the higher plus the same (counted above).</summary>
    public static Finding Judge(ThermalDose requirement, CycleView view, StationRecord station, DecisionRule rule)
    {
        var margin = Coverage * requirement.SensorUncertainty;
        var isA0 = requirement.Method == DoseMethod.A0;
        Func<double, double> rate = isA0 ? ThermalDoses.A0Rate : ThermalDoses.PasteurisationRate;
        (double, double) Rates(double low, double high) => (rate(low - margin), rate(high + margin));

        var (unit, secondsAUnit) = isA0 ? ("s", 1) : ("PU", 60);
        var name = isA0 ? "A0 (ISO 15883-1, counted from 65 Cel)" : "Pasteurisation (1.393^(T - 60) a minute)";
        var what = $"{name} from {requirement.Signal} in {Wording.List(requirement.Phases)} was";
        return Integrate(requirement.Signal, requirement.Phases, view, station, Rates, double.PositiveInfinity, unit, secondsAUnit, requirement.AtLeast, rule, what);
    }

    public static Finding Unread(string signal) =>
        Finding.NotProven($"No reading of {signal} came: the tag map lacks it, or it was never read: not proven.");

    private static Finding Integrate(
        string signal,
        IReadOnlyList<string> phases,
        CycleView view,
        StationRecord station,
        Func<double, double, (double, double)> rates,
        double unread,
        string unit,
        double secondsAUnit,
        double atLeast,
        DecisionRule rule,
        string what)
    {
        var runs = phases.Distinct().SelectMany(view.Phases).ToList();
        if (runs.Count == 0)
        {
            return Finding.Absent(view, $"{Wording.List(phases)} did not run", unit, atLeast);
        }

        var readings = view.Readings(station.Station, signal);
        if (readings.Count == 0)
        {
            return Unread(signal) with { Limit = atLeast };
        }

        var integral = new ReadingIntegral(readings, GapLimit(signal), rates, unread);
        var lower = runs.SelectMany(view.SeenStretches).Sum(s => integral.Over(s.From, s.To).Lower) / secondsAUnit;
        var outer = runs.Select(p => integral.Over(view.WithPauses(p.Start).Earliest, p.End.Latest)).ToList();
        var upper = outer.Sum(o => o.Upper) / secondsAUnit;
        var isOpen = double.IsInfinity(upper) || runs.Exists(p => view.IsUnseenStart(p.Start)) || (!view.IsWhole && runs.Count < phases.Count);
        var missing = outer.Sum(o => o.UnreadSeconds);
        var note = missing > 0 ? $" ({(double.IsFinite(missing) ? Wording.Quantity(missing, "s") : "an unknown time")} without good readings)" : "";
        return Finding.OfLimits(Measurement.Within(lower, isOpen ? null : upper, unit), atLeast, null, rule, $"{what}{note}");
    }

    /// <summary>
    /// How far apart two readings may be. Baths and what returns from them change over tens of seconds; a pressure or a flow can fall and rise again in a few.
    /// </summary>
    private static TimeSpan GapLimit(string signal) => TimeSpan.FromSeconds(Unit(signal) is "Cel" or "mS/cm" ? 10 : 3);

    private static string Unit(string signal) => SignalCatalogue.Find(signal)?.Unit ?? "";
}
