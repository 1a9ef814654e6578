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
            of.Figures.Add("temperature-mean/" + bath, 0, of.Mean(temperature, of.All(IsIts)));
            of.Figures.Add("temperature-minimum/" + bath, 0, Lowest(of, temperature, IsIts));
            of.Figures.Add("strength/" + bath, 0, of.Mean(of.Index.Own(0, "conductivity." + bath), of.All(IsIts)));
            of.Figures.Add("level/" + bath, 0, of.Mean(of.Index.Own(0, "level." + bath), of.All(IsIts)));
            TakeDosing(of, bath);
        }

        TakeAbove(of);
        TakeHeater(of);
    }

    private static void TakeHeater(Extraction of)
    {
        if (Since(of, "heater.caustic") is not { } heater)
        {
            return;
        }

        var time = heater.OnTime(of.SinceHalf.Start, of.SinceHalf.End);
        of.Figures.Add("heater-time/caustic", 0, time);
        AddPerKeg(of, "energy-per-keg", time);
        var rise = Readouts.Slope(of.Index.Own(0, "temperature.caustic"), heater.LongestRun(ShortestRun)?.Without(ProbeLag, 0), 4, of.Buffer);
        of.Figures.Add("heat-up-rate/caustic", 0, rise?.Times(60));
    }

    private static void TakeDosing(Extraction of, string chemical)
    {
        if (Since(of, "dosing." + chemical) is not { } pump)
        {
            return;
        }

        var time = pump.OnTime(of.SinceHalf.Start, of.SinceHalf.End);
        of.Figures.Add("dosing-time/" + chemical, 0, time);
        AddPerKeg(of, "chemical-per-keg/" + chemical, time);
        of.Figures.Add("dosing-rest/" + chemical, 0, pump.Rest(of.SinceHalf.End));
        var rise = Readouts.Slope(of.Index.Own(0, "conductivity." + chemical), pump.LongestRun(ShortestRun)?.Without(ProbeLag, 0), 3, of.Buffer);
        of.Figures.Add("dosing-response/" + chemical, 0, rise);
    }

    private static FlagHistory? Since(Extraction of, string flag) => of.Since is { } window ? of.Index.Own(0, flag)?.History(window, GapLimit) : null;

    private static void AddPerKeg(Extraction of, string name, Estimate whole)
    {
        if (of.Occupied.Count > 0)
        {
            of.Figures.Add(name, 0, whole.Times(1.0 / of.Occupied.Count));
        }
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
