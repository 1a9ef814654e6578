using WashBridge.Core.Recipes;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How warm, strong and full the baths were, and what it took to keep them so.</summary>
internal static class BathFigures
{
    private const double GapLimit = 10;
    private const long ProbeLag = 10_000_000;
    private const double ShortestRun = 20;

    public static void Take(Extraction of)
    {
        foreach (var (bath, kind) in Liquids.Baths)
        {
            bool IsIts(StepView step) => step.Phase.Kind == kind;
            var temperature = of.Index.Own(0, "temperature." + bath);
            of.Figures.Add("temperature-mean/" + bath, 0, of.Mean(temperature, of.Inner(IsIts)));
            of.Figures.Add("temperature-minimum/" + bath, 0, Lowest(of, temperature, IsIts));
            of.Figures.Add("strength/" + bath, 0, of.Mean(of.Index.Own(0, "conductivity." + bath), of.Inner(IsIts)));
            of.Figures.Add("level/" + bath, 0, of.Mean(of.Index.Own(0, "level." + bath), of.Inner(IsIts)));
            TakeDosing(of, bath);
        }

        TakeAbove(of);
        TakeHeater(of);
    }

    private static void TakeHeater(Extraction of)
    {
        var heater = of.Index.Own(0, "heater.caustic");
        var time = Readouts.Integral(heater, of.Since, GapLimit, of.Buffer);
        of.Figures.Add("heater-time/caustic", 0, time);
        if (of.Occupied.Count > 0)
        {
            of.Figures.Add("energy-per-keg", 0, time?.Times(1.0 / of.Occupied.Count));
        }

        var rise = Readouts.Slope(of.Index.Own(0, "temperature.caustic"), LongestRun(of, heater)?.Without(ProbeLag, 0), 4, of.Buffer);
        of.Figures.Add("heat-up-rate/caustic", 0, rise?.Times(60));
    }

    private static void TakeDosing(Extraction of, string chemical)
    {
        var pump = of.Index.Own(0, "dosing." + chemical);
        var time = Readouts.Integral(pump, of.Since, GapLimit, of.Buffer);
        of.Figures.Add("dosing-time/" + chemical, 0, time);
        if (of.Occupied.Count > 0)
        {
            of.Figures.Add("chemical-per-keg/" + chemical, 0, time?.Times(1.0 / of.Occupied.Count));
        }

        var rise = Readouts.Slope(of.Index.Own(0, "conductivity." + chemical), LongestRun(of, pump)?.Without(ProbeLag, 0), 3, of.Buffer);
        of.Figures.Add("dosing-response/" + chemical, 0, rise);
        of.Figures.Add("dosing-rest/" + chemical, 0, Rest(of, pump));
    }

    /// <summary>The longest time within the window in which the flag was set at every look; null where it is shorter than tells anything.</summary>
    private static Window? LongestRun(Extraction of, Track? flag)
    {
        if (flag is null || of.Since is not { } window)
        {
            return null;
        }

        of.Buffer.Clear();
        flag.Points(window, of.Buffer);
        Window? longest = null;
        for (var i = 0; i < of.Buffer.Count; i++)
        {
            var from = i;
            while (i < of.Buffer.Count && of.Buffer[i].Value != 0 && (i == from || of.Buffer[i].Seconds - of.Buffer[i - 1].Seconds <= GapLimit))
            {
                i++;
            }

            if (i > from && new Window(window.Epoch, of.Buffer[from].At.Latest, of.Buffer[i - 1].At.Earliest) is var run && run.Seconds >= ShortestRun && run.Seconds > (longest?.Seconds ?? 0))
            {
                longest = run;
            }

            // A gap ends a run, and the reading after it may begin the next.
            i -= i > from && i < of.Buffer.Count && of.Buffer[i].Value != 0 ? 1 : 0;
        }

        return longest;
    }

    /// <summary>From the pump's last stop to the cycle's end; null where it was not seen to run.</summary>
    private static Estimate? Rest(Extraction of, Track? pump)
    {
        if (pump is null || of.Since is not { } window)
        {
            return null;
        }

        of.Buffer.Clear();
        pump.Points(window, of.Buffer);
        var last = of.Buffer.FindLastIndex(p => p.Value != 0);
        if (last < 0 || Readouts.Integral(pump, window, GapLimit, of.Buffer) is null)
        {
            return null;
        }

        of.Buffer.Clear();
        pump.Points(window, of.Buffer);
        if (last + 1 == of.Buffer.Count)
        {
            return Estimate.Exact(0);
        }

        var (running, stopped) = (of.Buffer[last].At.Earliest / 1e6, of.Buffer[last + 1].At.Latest / 1e6);
        return new Estimate((window.To / 1e6) - ((running + stopped) / 2), Math.Sqrt(Readouts.Variance((stopped - running) / 2)));
    }

    /// <summary>The lowest reading; null unless the whole phase was read.</summary>
    private static Estimate? Lowest(Extraction of, Track? track, Func<StepView, bool> which)
    {
        if (track is null || !of.Steps.Exists(s => which(s)))
        {
            return null;
        }

        var lowest = double.PositiveInfinity;
        foreach (var step in of.Steps)
        {
            if (!which(step))
            {
                continue;
            }

            if (!step.IsWhole || step.Inner is not { } window || Readouts.Integral(track, window, GapLimit, of.Buffer) is null)
            {
                return null;
            }

            of.Buffer.Clear();
            track.Points(window, of.Buffer);
            foreach (var point in of.Buffer)
            {
                lowest = Math.Min(lowest, point.Value);
            }
        }

        return new Estimate(lowest, Math.Sqrt(Readouts.OfHeld(track.DeadBand)));
    }

    /// <summary>For each time at a temperature that the recipe demands.</summary>
    private static void TakeAbove(Extraction of)
    {
        var named = new HashSet<string>();
        foreach (var requirement in of.Recipe.Requirements)
        {
            if (requirement is not TimeBeyond { Below: false } beyond || !beyond.Signal.StartsWith("temperature.", StringComparison.Ordinal))
            {
                continue;
            }

            var name = $"temperature-above/{beyond.Signal["temperature.".Length..]}";
            name = named.Add(name) ? name : $"{name}/{beyond.Id}";
            foreach (var (station, track) in of.Measured(beyond.Signal))
            {
                of.Figures.Add(name, station, Above(of, track, beyond));
            }
        }
    }

    private static Estimate? Above(Extraction of, Track track, TimeBeyond beyond)
    {
        var parts = new List<Estimate>();
        foreach (var phase in of.Cycle.Phases)
        {
            if (!beyond.Phases.Contains(phase.Id))
            {
                continue;
            }

            if (of.Steps.Exists(s => s.Phase == phase && !s.IsWhole)
                || Window.BetweenMiddles(phase.Start, phase.End) is not { } window
                || Above(of, track, window, beyond.Value) is not { } part
                || Estimate.Duration(phase.Start, phase.End) is not { } whole)
            {
                return null;
            }

            parts.Add(new Estimate(part.Value, Math.Sqrt((part.Uncertainty * part.Uncertainty) + (whole.Uncertainty * whole.Uncertainty))));
        }

        return parts.Count > 0 ? Estimate.Sum(parts) : null;
    }

    /// <summary>Seconds at or above the limit along straight lines from reading to reading. Within the dead band of the limit either may be true.</summary>
    private static Estimate? Above(Extraction of, Track track, Window window, double limit)
    {
        of.Buffer.Clear();
        track.Points(window, of.Buffer, around: true);
        var (points, from, to) = (of.Buffer, window.From / 1e6, window.To / 1e6);
        if (points.Count == 0 || points[0].Seconds - from > GapLimit || to - points[^1].Seconds > GapLimit)
        {
            return null;
        }

        var (sum, variance, unsure) = (0.0, 0.0, 0.0);
        for (var i = 0; i <= points.Count; i++)
        {
            var a = i > 0 ? points[i - 1] : points[0];
            var b = i < points.Count ? points[i] : points[^1];
            var (start, end) = (i > 0 ? Math.Max(a.Seconds, from) : from, i < points.Count ? Math.Min(b.Seconds, to) : to);
            if (b.Seconds - a.Seconds > GapLimit)
            {
                return null;
            }

            if (end <= start)
            {
                continue;
            }

            var (low, high) = (Math.Min(a.Value, b.Value), Math.Max(a.Value, b.Value));
            var share = low >= limit ? 1 : high < limit ? 0 : (high - limit) / (high - low);
            sum += share * (end - start);
            variance += share is > 0 and < 1 ? Readouts.Variance((end - start) / 2) : 0;
            unsure += low < limit + track.DeadBand && high >= limit - track.DeadBand && track.DeadBand > 0 ? end - start : 0;
        }

        return new Estimate(sum, Math.Sqrt(variance + Readouts.Variance(unsure)));
    }
}
