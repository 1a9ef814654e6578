using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>Pressures, flows and currents while liquid flows and while nothing does, and what returns from the kegs.</summary>
internal static class SprayFigures
{
    public static void Take(Extraction of)
    {
        foreach (var (bath, kind) in Liquids.Baths)
        {
            TakeSprays(of, bath, kind, "pressure.spray");
            of.Figures.Add($"spray-current/{bath}{of.Load}", 0, of.Mean(of.Index.Own(0, "current.spray-pump"), Sprays(of, kind)));
        }

        TakeSprays(of, Liquids.Water, PhaseKind.Rinse, "pressure.water");
        of.Figures.Add("water-pressure/rest", 0, of.Mean(of.Index.Own(0, "pressure.water"), Extraction.Settled(of.AllOfWhole(s => s.Phase.Kind != PhaseKind.Rinse || s.Step.Kind == StepKind.Drain))));
        of.Figures.Add("air-pressure", 0, of.Mean(of.Index.Own(0, "pressure.air"), of.AllOfWhole(_ => true)));
        TakeRunTime(of);
    }

    private static void TakeSprays(Extraction of, string liquid, PhaseKind kind, string pressure)
    {
        of.Figures.Add($"spray-pressure/{liquid}{of.Load}", 0, of.Mean(of.Index.Own(0, pressure), Sprays(of, kind)));
        foreach (var (station, flow) in of.Measured("flow.supply"))
        {
            of.Figures.Add($"spray-flow/{liquid}{of.Load}", station, of.Mean(flow, Sprays(of, kind)));
        }
    }

    /// <summary>The wall sprays once settled, because the spear takes another flow; of a phase that has none, the spear rinses.</summary>
    private static IEnumerable<Window> Sprays(Extraction of, PhaseKind kind)
    {
        var spray = of.Steps.Exists(s => s.Phase.Kind == kind && s.Step.Kind == StepKind.WallSpray) ? StepKind.WallSpray : StepKind.SpearRinse;
        return Extraction.Settled(of.All(s => s.Phase.Kind == kind && s.Step.Kind == spray));
    }

    private static void TakeRunTime(Extraction of)
    {
        var window = Window.BetweenMiddles(of.Cycle.Start, of.Cycle.End);
        if (of.View.BeganUnseen || of.Cycle.Outcome == CycleOutcome.EndUnseen)
        {
            return;
        }

        if (of.Index.Own(0, "pump.spray") is { } pump)
        {
            of.Figures.Add("pump-run-time", 0, window is { } whole ? pump.History(whole, 3)?.OnTime() : null);
        }
        else if (of.IsWhole)
        {
            var sprays = of.Steps.Where(s => s.IsSpray && s.Phase.Kind != PhaseKind.Rinse).Select(s => Estimate.Duration(s.Step.Start, s.Step.End)).ToList();
            of.Figures.Add("pump-run-time", 0, sprays.TrueForAll(s => s is not null) ? Estimate.Sum([.. sprays.Select(s => s!.Value)]) : null);
        }
    }
}
