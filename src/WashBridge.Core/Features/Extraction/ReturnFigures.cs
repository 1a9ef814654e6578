using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>What left the keg at the end of its drains: how warm it was, and how much of the bath before was still in it.</summary>
internal static class ReturnFigures
{
    /// <summary>The last of the liquid, µs.</summary>
    private const long Last = 2_000_000;

    public static void Take(Extraction of)
    {
        string? bath = null;
        foreach (var phase in of.Cycle.Phases)
        {
            if (phase.Kind is PhaseKind.CausticWash or PhaseKind.AcidWash or PhaseKind.Sanitise or PhaseKind.HeatSanitise)
            {
                bath = Liquids.Of(phase.Kind);
                TakeTemperature(of, phase);
            }
            else if (phase.Kind == PhaseKind.Rinse && bath is not null)
            {
                TakeRinse(of, phase, bath);
            }
        }
    }

    private static void TakeTemperature(Extraction of, PhaseRecord phase)
    {
        foreach (var (station, track) in of.Measured("temperature.return"))
        {
            of.Figures.Add($"temperature-return/{phase.Id}", station, Estimate.Mean([.. Ends(of, phase, station, track)]));
        }
    }

    private static void TakeRinse(Extraction of, PhaseRecord phase, string bath)
    {
        var kind = Liquids.Baths.First(b => b.Name == bath).Kind;
        if (of.Mean(of.Index.Own(0, "conductivity." + bath), of.All(s => s.Phase.Kind == kind)) is not { Value: > 0 } strength)
        {
            return;
        }

        foreach (var (station, track) in of.Measured("conductivity.return"))
        {
            // Of several passes the last is what the rinse came to.
            var rest = Ends(of, phase, station, track).TakeLast(1).ToList();
            of.Figures.Add($"rinse-out/{phase.Id}", station, Estimate.Mean(rest)?.Over(strength));
        }
    }

    /// <summary>
    /// The mean of the last seconds of each drain before the sensor can have read dry. What leaves the keg still changes then: by as much as it changes in the time
    /// in which the sensor can have turned the value may be another one.
    /// </summary>
    private static IEnumerable<Estimate> Ends(Extraction of, PhaseRecord phase, int station, Track track)
    {
        var drains = of.Occupied.Find(s => station == 0 || s.Station == station)?.Drains ?? [];
        foreach (var drain in drains)
        {
            if (drain.Phase != phase.Id || drain.Dry is not { } dry || !DrainFigures.IsFollowed(of, drain, dry.Latest) || Window.Between(drain.Start.Latest, dry.Earliest) is not { } window)
            {
                continue;
            }

            window = window with { From = Math.Max(window.From, window.To - Last) };
            if (of.Mean(track, [window]) is not { } mean)
            {
                continue;
            }

            of.Buffer.Clear();
            track.Points(window, of.Buffer);
            var (first, last) = (of.Buffer[0], of.Buffer[^1]);
            if (last.Seconds - first.Seconds < 0.5)
            {
                continue;
            }

            var slope = (last.Value - first.Value) / (last.Seconds - first.Seconds);
            var unsure = (dry.Latest.Steady - dry.Earliest.Steady).TotalSeconds + (2 - window.Seconds) + (window.Seconds - (last.Seconds - first.Seconds));
            yield return mean with { Uncertainty = Math.Sqrt((mean.Uncertainty * mean.Uncertainty) + Readouts.Variance(slope * unsure)) };
        }
    }
}
