using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>The gas supply, and what it did in the kegs.</summary>
internal static class GasFigures
{
    /// <summary>Readings this long before a fill still tell the pressure at which it began, µs.</summary>
    private const long Recent = 4_000_000;

    /// <summary>Nothing is said of a pressure that was last read so long before, s.</summary>
    private const double LongestAhead = 2.2;

    public static void Take(Extraction of)
    {
        var supply = of.Index.Own(0, "pressure.co2");
        of.Figures.Add("co2-rest", 0, of.Mean(supply, Extraction.Settled(of.AllOfWhole(s => s.Phase.Kind is not (PhaseKind.Evacuate or PhaseKind.Purge)))));
        TakeLowest(of, supply);
        var rises = new List<Estimate?>();
        foreach (var (station, keg) in of.Measured("pressure.keg"))
        {
            rises.Add(TakeSwings(of, station, keg));
        }

        if (of.IsWhole && rises.Count > 0 && rises.TrueForAll(r => r is not null))
        {
            of.Figures.Add("co2-per-keg", 0, Estimate.Mean([.. rises.Select(r => r!.Value)]));
        }
    }

    private static void TakeLowest(Extraction of, Track? supply)
    {
        if (supply is null)
        {
            return;
        }

        var lows = new List<double>();
        foreach (var window in of.All(Liquids.IsGasFill))
        {
            of.Buffer.Clear();
            supply.Points(window, of.Buffer);
            if (of.Buffer.Count > 0)
            {
                lows.Add(of.Buffer.Min(p => p.Value));
            }
        }

        if (lows.Count > 1)
        {
            // The lowest comes and goes between two polls: how much that matters shows in how the fills differ.
            var mean = lows.Average();
            var spread = lows.Sum(l => (l - mean) * (l - mean)) / (lows.Count - 1);
            of.Figures.Add("co2-flow" + of.Load, 0, new Estimate(mean, Math.Sqrt((spread + Readouts.OfHeld(supply.DeadBand)) / lows.Count)));
        }
    }

    /// <summary>Figures of swings stand for all of them: where one was not read they are missing.</summary>
    /// <returns>The sum of the pressure rises of all fills; null where one was not read.</returns>
    private static Estimate? TakeSwings(Extraction of, int station, Track keg)
    {
        var (highs, lows, times, rises) = (new List<Estimate?>(), new List<Estimate?>(), new List<Estimate?>(), new List<Estimate?>());
        foreach (var step in of.Steps)
        {
            var isPurge = step.Phase.Kind == PhaseKind.Purge;
            if (Liquids.IsGasFill(step))
            {
                var (high, low) = (Extreme(of, keg, step, 1), Before(of, keg, step));
                var rise = high is { } h && low is { } l ? new Estimate(h.Value - l.Value, h.Uncertainty + l.Uncertainty) : (Estimate?)null;
                rises.Add(rise);
                if (isPurge)
                {
                    highs.Add(high);
                    times.Add(rise is null ? null : HalfTime(of, keg, step, low!.Value.Value, high!.Value.Value));
                }
            }
            else if (isPurge && step.Step.Kind == StepKind.Vent)
            {
                lows.Add(Extreme(of, keg, step, -1));
            }
        }

        of.Figures.Add("purge-high", station, Together(highs)?.Times(1.0 / highs.Count));
        of.Figures.Add("purge-low", station, Together(lows)?.Times(1.0 / lows.Count));
        of.Figures.Add("purge-rise", station, Together(times)?.Times(1.0 / times.Count));
        return Together(rises);
    }

    /// <summary>
    /// The pressure at the end of a fill (or of a vent): the highest (lowest) reading, or where the pressure was still going at the last reading, that and
    /// how far it can have gone since. Where it turned before, it can have gone further between two readings.
    /// </summary>
    private static Estimate? Extreme(Extraction of, Track keg, StepView step, int sign)
    {
        if (!step.IsWhole || step.Inner is not { } window)
        {
            return null;
        }

        of.Buffer.Clear();
        keg.Points(window, of.Buffer);
        if (of.Buffer.Count < 2)
        {
            return null;
        }

        var at = 0;
        for (var i = 1; i < of.Buffer.Count; i++)
        {
            at = sign * of.Buffer[i].Value > sign * of.Buffer[at].Value ? i : at;
        }

        return at == of.Buffer.Count - 1
            ? Onwards(of.Buffer[at - 1], of.Buffer[at], Stamp.Of(step.Step.End), keg.DeadBand)
            : (window.To - of.Buffer[^1].At.Latest) / 1e6 > LongestAhead ? null : new Estimate(of.Buffer[at].Value, Math.Sqrt(Readouts.Variance(Beyond(of.Buffer, at)) + Readouts.OfHeld(keg.DeadBand)));
    }

    /// <summary>How far a pressure that turned can have gone beyond its extreme reading: as far as the nearer of the readings beside it lies off. On a plateau that is next to nothing.</summary>
    private static double Beyond(List<Point> points, int at)
    {
        var after = Math.Abs(points[at].Value - points[at + 1].Value);
        return at == 0 ? after : Math.Min(after, Math.Abs(points[at].Value - points[at - 1].Value));
    }

    /// <summary>The pressure from which a fill began; null where it was not read shortly before.</summary>
    private static Estimate? Before(Extraction of, Track keg, StepView step)
    {
        var start = Stamp.Of(step.Step.Start);
        of.Buffer.Clear();
        keg.Points(new Window(start.Epoch, start.Earliest - Recent, start.Earliest), of.Buffer);
        return of.Buffer.Count < 2 ? null : Onwards(of.Buffer[^2], of.Buffer[^1], start, keg.DeadBand);
    }

    /// <summary>
    /// Where a pressure is that nears its end value ever more slowly: between the last reading and the straight line through the last two
    /// (rectangular, JCGM 100:2008, 4.3.7), at a time that itself is known to the width of its edge. Null where it was read too long before.
    /// </summary>
    private static Estimate? Onwards(Point before, Point last, Stamp until, double deadBand)
    {
        var apart = last.Seconds - before.Seconds;
        var ahead = Math.Max(0, (until.Middle / 1e6) - last.Seconds);
        if (ahead > LongestAhead || ahead > 2 * apart)
        {
            return null;
        }

        var slope = apart > 0 ? (last.Value - before.Value) / apart : 0;
        var (half, edge) = (slope * ahead / 2, slope * (until.Latest - until.Earliest) / 2e6);
        return new Estimate(last.Value + half, Math.Sqrt(Readouts.Variance(half) + Readouts.Variance(edge) + Readouts.OfHeld(deadBand)));
    }

    /// <summary>From the start of a fill to half of its rise; null where the rise is too small to tell.</summary>
    private static Estimate? HalfTime(Extraction of, Track keg, StepView step, double low, double high)
    {
        if (!step.IsWhole || step.Inner is not { } window || high <= low || high - low < 10 * keg.DeadBand)
        {
            return null;
        }

        var points = of.Buffer;
        points.Clear();
        keg.Points(window, points);
        var start = Stamp.Of(step.Step.Start);
        var (from, value, half) = (start.Middle / 1e6, low, (high + low) / 2);
        foreach (var point in points)
        {
            if (point.Value >= half)
            {
                var to = Math.Max(from, point.Seconds);
                var at = from + ((to - from) * Math.Clamp((half - value) / (point.Value - value), 0, 1)) - (start.Middle / 1e6);
                return new Estimate(at, Math.Sqrt(Readouts.Variance((to - from) / 2) + Readouts.Variance((start.Latest - start.Earliest) / 2e6)));
            }

            (from, value) = (Math.Max(from, point.Seconds), point.Value);
        }

        return null;
    }

    /// <summary>
    /// The sum of values that are wrong together: swings last a multiple of the time between polls, so that each is caught at the same place. Uncertainties add up
    /// (JCGM 100:2008, 5.2.2, note 1). Null where one is not known.
    /// </summary>
    private static Estimate? Together(List<Estimate?> parts) => parts.Count > 0 && parts.TrueForAll(p => p is not null)
        ? new Estimate(parts.Sum(p => p!.Value.Value), parts.Sum(p => p!.Value.Uncertainty))
        : null;
}
