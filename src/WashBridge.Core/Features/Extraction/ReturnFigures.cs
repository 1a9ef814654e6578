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
            of.Figures.Add($"temperature-return/{phase.Id}", station, of.Mean(track, Ends(of, phase, station)));
        }
    }

    private static void TakeRinse(Extraction of, PhaseRecord phase, string bath)
    {
        var kind = Liquids.Baths.First(b => b.Name == bath).Kind;
        if (of.Mean(of.Index.Own(0, "conductivity." + bath), of.Inner(s => s.Phase.Kind == kind)) is not { Value: > 0 } strength)
        {
            return;
        }

        foreach (var (station, track) in of.Measured("conductivity.return"))
        {
            // Of several passes the last is what the rinse came to.
            var rest = of.Mean(track, Ends(of, phase, station).TakeLast(1));
            of.Figures.Add($"rinse-out/{phase.Id}", station, rest?.Over(strength));
        }
    }

    /// <summary>The last seconds of each drain of the phase before the sensor certainly could read dry.</summary>
    private static IEnumerable<Window> Ends(Extraction of, PhaseRecord phase, int station)
    {
        var drains = of.Occupied.Find(s => station == 0 || s.Station == station)?.Drains ?? [];
        foreach (var drain in drains)
        {
            if (drain.Phase == phase.Id && drain.Dry is { } dry && DrainFigures.IsFollowed(of, drain, dry.Latest) && Window.Between(drain.Start.Latest, dry.Earliest) is { } window)
            {
                yield return window with { From = Math.Max(window.From, window.To - Last) };
            }
        }
    }
}
