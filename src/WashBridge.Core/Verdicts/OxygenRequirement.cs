using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts.Calculations;

namespace WashBridge.Core.Verdicts;

/// <summary>
/// Oxygen after the purge. Each fill dilutes by the pressure at which it began over the pressure at which it ended. The true trough is at
/// most any reading in it, the true peak at least any reading in it: the lowest and the highest reading, widened by the sensor's uncertainty,
/// bound the dilution from the side that matters. What no reading shows dilutes nothing.
/// </summary>
internal static class OxygenRequirement
{
    public const string Signal = "pressure.keg";

    private const double Coverage = 2;

    /// <summary>A reading this long before the first fill still tells the pressure at which it began.</summary>
    private static readonly TimeSpan Recent = TimeSpan.FromSeconds(3);

    public static Finding Judge(ResidualOxygen requirement, CycleView view, StationRecord station, DecisionRule rule)
    {
        var runs = view.Phases(requirement.Phase);
        if (runs.Count == 0)
        {
            return view.IsWhole
                ? new Finding(Verdict.NotMet, new Measurement(requirement.Initial, requirement.Initial, ""), requirement.AtMost, $"{requirement.Phase} did not run, and the whole cycle was watched: not met.")
                : Finding.Absent(view, $"{requirement.Phase} did not run", "", requirement.AtMost);
        }

        var readings = view.Readings(station.Station, Signal).Where(r => r.IsGood).ToList();
        if (readings.Count == 0)
        {
            return QuantityRequirements.Unread(Signal) with { Limit = requirement.AtMost };
        }

        var swings = runs.SelectMany(p => Swings(p, view, readings, Coverage * requirement.SensorUncertainty)).ToList();
        var upper = PurgeOxygen.After(requirement.Initial, requirement.InPurgeGas, swings.Select(s => s.Worst));
        var isAllKnown = !runs.Any(view.CanHide) && swings.TrueForAll(s => s.Best is not null);
        var lower = isAllKnown ? PurgeOxygen.After(requirement.Initial, requirement.InPurgeGas, swings.Select(s => s.Best!.Value)) : requirement.InPurgeGas;
        var read = swings.Count(s => s.Worst.Low < s.Worst.High);
        var measured = Measurement.Within(Math.Min(lower, upper), upper, "");
        return Finding.OfLimits(measured, null, requirement.AtMost, rule, $"Oxygen calculated from the pressures of {read} swings in {requirement.Phase}, as a volume fraction:");
    }

    private static IEnumerable<Swing> Swings(PhaseRecord phase, CycleView view, List<Reading> readings, double margin)
    {
        var steps = phase.Passes.SelectMany(p => p.Steps).ToList();
        for (var i = 0; i < steps.Count; i++)
        {
            if (steps[i].Kind != StepKind.Pressurise)
            {
                continue;
            }

            var fill = steps[i];
            var before = i > 0 ? steps[i - 1] : PrecedingStep(phase, view.Cycle);
            if (!fill.Seen)
            {
                yield return new Swing(NoDilution, null);
                continue;
            }

            var during = Within(readings, fill.Start.Latest, fill.End.Earliest);
            if (during.Count == 0)
            {
                yield return new Swing(NoDilution, null);
                continue;
            }

            var peakAt = during.FindIndex(r => r.Value == during.Max(d => d.Value));
            var peak = during[peakAt].Value;
            var lows = during.Take(peakAt + 1).Concat(Before(readings, before, fill)).Select(r => r.Value).ToList();
            var trough = Math.Max(0, lows.Min() + margin);
            var worst = peak - margin > trough ? (trough, peak - margin) : NoDilution;
            yield return new Swing(worst, Best(during, peakAt, lows, margin));
        }
    }

    /// <summary>
    /// The most dilution that is credible, for a verdict of not met: between readings the pressure may have gone on as fast as it last went.
    /// Null where one reading alone tells nothing of that.
    /// </summary>
    private static (double Low, double High)? Best(List<Reading> during, int peakAt, List<double> lows, double margin)
    {
        if (during.Count < 2)
        {
            return null;
        }

        var rise = Math.Abs(during[peakAt].Value - during[peakAt > 0 ? peakAt - 1 : 1].Value);
        var fall = Math.Abs(during[0].Value - during[1].Value);
        var high = during[peakAt].Value + margin + rise;
        return high > 0 ? (Math.Max(0, lows.Min() - margin - fall), high) : null;
    }

    /// <summary>Readings after the peak before and up to the fill: in a vent or drain step right before it nothing but the fill can raise the pressure.</summary>
    private static IEnumerable<Reading> Before(List<Reading> readings, StepRecord? before, StepRecord fill)
    {
        if (before is not { Seen: true, Kind: StepKind.Vent or StepKind.Drain })
        {
            return [];
        }

        var inStep = Within(readings, before.Start.Latest, fill.Start.Earliest);
        var isRecent = inStep.Count > 0 && SteadyLine.Between(inStep[^1].At.Earliest, fill.Start.Latest) is { } age && age <= Recent;
        return isRecent ? [inStep[^1]] : [];
    }

    private static StepRecord? PrecedingStep(PhaseRecord phase, CycleRecord cycle)
    {
        var at = cycle.Phases.ToList().IndexOf(phase);
        return at > 0 ? cycle.Phases[at - 1].Passes[^1].Steps[^1] : null;
    }

    /// <summary>Readings that certainly were taken between two moments.</summary>
    private static List<Reading> Within(List<Reading> readings, Moment from, Moment to) =>
        [.. readings.Where(r => SteadyLine.Compare(r.At.Earliest, from) >= 0 && SteadyLine.Compare(r.At.Latest, to) <= 0)];

    private static (double Low, double High) NoDilution => (1, 1);

    /// <param name="Worst">Least dilution that the readings prove.</param>
    /// <param name="Best">Most dilution that is credible; null: not bounded.</param>
    private readonly record struct Swing((double Low, double High) Worst, (double Low, double High)? Best);
}
