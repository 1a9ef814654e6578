using WashBridge.Core.Cycles;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests.Measuring;

/// <summary>A true figure, or the interval of all that can be called so.</summary>
internal readonly record struct TrueFigure(double Low, double High)
{
    public static TrueFigure Of(double value) => new(value, value);

    /// <summary>0 where the value lies within.</summary>
    public double DistanceTo(double value) => value < Low ? Low - value : value > High ? value - High : 0;
}

/// <summary>What the figures of a cycle really were, from what the plant did in every scan and from the controller's own times.</summary>
internal sealed class TrueFigures
{
    private static readonly TimeSpan Settling = TimeSpan.FromSeconds(1.5);
    private static readonly TimeSpan Closing = TimeSpan.FromSeconds(0.2);
    private readonly Dictionary<string, TrueFigure> _all = [];
    private readonly MeasuredRun _run;
    private readonly TrueCycle _cycle;
    private readonly List<TrueStep> _steps;
    private readonly double _scan;

    private TrueFigures(MeasuredRun run, TrueCycle cycle, TimeSpan? previousEnd, Func<TrueStep, bool> isRecorded)
    {
        _run = run;
        _cycle = cycle;
        _steps = [.. cycle.Steps.Where(s => s is { End: not null, Paused.Ticks: 0 } && isRecorded(s))];
        _scan = run.Washer.Options.Scan.TotalSeconds;
        TakeTimes();
        TakeDrains();
        TakeBaths();
        TakeSprays();
        TakeGas();
        if (previousEnd is { } since)
        {
            TakeSince(since);
        }
    }

    /// <summary>By key; what the truth leaves open is not in it.</summary>
    public static IReadOnlyDictionary<string, TrueFigure> Of(MeasuredRun run, TrueCycle cycle, TimeSpan? previousEnd, Func<TrueStep, bool> isRecorded) =>
        new TrueFigures(run, cycle, previousEnd, isRecorded)._all;

    private static string NameOf(StepKind kind) => WashBridge.Simulator.Programmes.WasherProgramme.StepName(kind);

    private PhaseKind KindOf(TrueStep step) => _cycle.Phases.First(p => p.Id == step.Phase).Kind;

    private static bool IsSpray(TrueStep step) => step.Kind is StepKind.WallSpray or StepKind.SpearRinse;

    private void TakeTimes()
    {
        foreach (var step in _steps.Where(s => !s.Interrupted))
        {
            _all[$"step-time/{step.Phase}/{step.Pass}/{NameOf(step.Kind)}"] = TrueFigure.Of((step.End - step.Start)!.Value.TotalSeconds);
        }

        foreach (var phase in _cycle.Phases.Where(p => p.End is not null))
        {
            _all[$"phase-time/{phase.Id}"] = TrueFigure.Of((phase.End - phase.Start)!.Value.TotalSeconds);
        }
    }

    private void TakeDrains()
    {
        var shared = _run.Washer.Options.SharedDrainSensor;
        foreach (var drain in _cycle.Drains.Where(d => d.Dry is not null))
        {
            var time = new TrueFigure((drain.FirstDry - drain.Start)!.Value.TotalSeconds, (drain.Dry - drain.Start)!.Value.TotalSeconds);
            _all[$"drain-time/{drain.Phase}/{drain.Pass}" + (shared ? "" : $"@{drain.Station}")] = time;
        }

        var since = _cycle.Start;
        var water = 0.0;
        foreach (var step in _cycle.Steps)
        {
            var litres = step.End is { } end ? _run.Within("flow", step.Start + TimeSpan.FromTicks(1), end).Sum() * _scan / 60 : 0;
            water += KindOf(step) == PhaseKind.Rinse ? litres : 0;
            if (step.Kind == StepKind.Drain)
            {
                _all[$"liquid/{step.Phase}/{step.Pass}"] = TrueFigure.Of(_run.Within("flow", since, step.Start).Sum() * _scan / 60 / _cycle.Kegs.Count);
                since = step.End ?? TimeSpan.MaxValue;
            }
        }

        _all["water-per-keg"] = TrueFigure.Of(water / _cycle.Kegs.Count);
        _all["kegs"] = TrueFigure.Of(_cycle.Kegs.Count);
    }

    private void TakeBaths()
    {
        foreach (var (bath, kind) in new[] { ("caustic", PhaseKind.CausticWash), ("acid", PhaseKind.AcidWash), ("sanitiser", PhaseKind.Sanitise) })
        {
            var steps = _steps.Where(s => KindOf(s) == kind).ToList();
            Mean("temperature-mean/" + bath, "cel/" + bath, steps);
            Mean("strength/" + bath, "conductivity/" + bath, steps);
            Mean("level/" + bath, "level/" + bath, steps);
            var all = steps.SelectMany(s => _run.Within("cel/" + bath, s.Start, s.End!.Value)).ToList();
            if (all.Count > 0)
            {
                _all["temperature-minimum/" + bath] = TrueFigure.Of(all.Min());
            }
        }
    }

    private void TakeSprays()
    {
        var load = _cycle.Kegs.Count == _run.Washer.Options.Stations ? "" : $"/{_cycle.Kegs.Count}-kegs";
        foreach (var (liquid, kind) in new[] { ("caustic", PhaseKind.CausticWash), ("acid", PhaseKind.AcidWash), ("sanitiser", PhaseKind.Sanitise), ("water", PhaseKind.Rinse) })
        {
            var sprays = _steps.Where(s => s.Kind == StepKind.WallSpray && KindOf(s) == kind).ToList();
            Mean($"spray-pressure/{liquid}{load}", liquid == "water" ? "water" : "spray", sprays, Settling, Closing);
            Mean($"spray-flow/{liquid}{load}", "flow", sprays, Settling, Closing);
            if (liquid != "water")
            {
                Mean($"spray-current/{liquid}{load}", "current", sprays, Settling, Closing);
            }
        }

        Mean("water-pressure/rest", "water", _steps.Where(s => !IsSpray(s) || KindOf(s) != PhaseKind.Rinse), Settling, Closing);
        foreach (var drain in _cycle.Drains.Where(d => d.Dry is not null))
        {
            Return(drain);
        }
    }

    /// <summary>In the last two seconds before the sensor first read dry; anything that a second more or less of it gives is true.</summary>
    private void Return(TrueDrain drain)
    {
        var phase = _cycle.Phases.First(p => p.Id == drain.Phase);
        if (drain.FirstDry - drain.Start < TimeSpan.FromSeconds(3) || phase.Passes.Count > 1)
        {
            return;
        }

        var (from, to) = (drain.FirstDry!.Value - TimeSpan.FromSeconds(2), drain.FirstDry.Value);
        if (phase.Kind is PhaseKind.CausticWash or PhaseKind.AcidWash or PhaseKind.Sanitise)
        {
            var mean = _run.Within($"return-cel@{drain.Station}", from, to).Average();
            _all[$"temperature-return/{drain.Phase}@{drain.Station}"] = TrueFigure.Of(mean);
        }

        var before = _cycle.Phases.TakeWhile(p => p != phase).LastOrDefault(p => p.Kind is PhaseKind.CausticWash or PhaseKind.AcidWash or PhaseKind.Sanitise);
        if (phase.Kind == PhaseKind.Rinse && before is not null)
        {
            var bath = before.Kind == PhaseKind.CausticWash ? "caustic" : before.Kind == PhaseKind.AcidWash ? "acid" : "sanitiser";
            var strength = _run.Within("conductivity/" + bath, before.Start, before.End!.Value).Average();
            _all[$"rinse-out/{drain.Phase}@{drain.Station}"] = TrueFigure.Of(_run.Within($"return-conductivity@{drain.Station}", from, to).Average() / strength);
        }
    }

    private void TakeGas()
    {
        Mean("co2-rest", "co2", _steps.Where(s => KindOf(s) is not (PhaseKind.Evacuate or PhaseKind.Purge)), Settling, Closing);
        var fills = _steps.Where(s => s.Kind == StepKind.Pressurise && KindOf(s) is PhaseKind.Evacuate or PhaseKind.Purge).ToList();
        var perKeg = new List<double>();
        foreach (var keg in _cycle.Kegs)
        {
            var what = $"keg@{keg.Station}";
            var rises = fills.ConvertAll(s => (Step: s, Low: _run.Within(what, s.Start, s.Start).First(), High: _run.Within(what, s.Start, s.End!.Value).Max()));
            perKeg.Add(rises.Sum(r => r.High - r.Low));
            var purges = rises.Where(r => KindOf(r.Step) == PhaseKind.Purge).ToList();
            if (purges.Count > 0)
            {
                _all[$"purge-high@{keg.Station}"] = TrueFigure.Of(purges.Average(r => r.High));
                _all[$"purge-rise@{keg.Station}"] = TrueFigure.Of(purges.Average(r => HalfTime(what, r.Step, (r.Low + r.High) / 2)));
            }

            var vents = _steps.Where(s => s.Kind == StepKind.Vent && KindOf(s) == PhaseKind.Purge).ToList();
            if (vents.Count > 0)
            {
                _all[$"purge-low@{keg.Station}"] = TrueFigure.Of(vents.Average(s => _run.Within(what, s.Start, s.End!.Value).Min()));
            }
        }

        if (fills.Count > 0)
        {
            _all["co2-per-keg"] = TrueFigure.Of(perKeg.Average());
        }
    }

    private double HalfTime(string what, TrueStep step, double half) => _run.Within(what, step.Start, step.End!.Value).TakeWhile(v => v < half).Count() * _scan;

    private void TakeSince(TimeSpan since)
    {
        foreach (var bath in new[] { "caustic", "acid", "sanitiser" })
        {
            var dosing = _run.Within("dosing/" + bath, since, _cycle.End!.Value).Sum() * _scan;
            _all["dosing-time/" + bath] = TrueFigure.Of(dosing);
            _all["chemical-per-keg/" + bath] = TrueFigure.Of(dosing / _cycle.Kegs.Count);
        }

        var heating = _run.Within("heater/caustic", since, _cycle.End!.Value).Sum() * _scan;
        _all["heater-time/caustic"] = TrueFigure.Of(heating);
        _all["energy-per-keg"] = TrueFigure.Of(heating / _cycle.Kegs.Count);
        _all["pump-run-time"] = TrueFigure.Of(_run.Within("pump", _cycle.Start, _cycle.End.Value).Sum() * _scan);
        _all["drain-valve-use"] = TrueFigure.Of(_cycle.Steps.Count(s => s.Kind == StepKind.Drain));
    }

    /// <summary>While it ran: a step in which the controller was away is none of those that a figure tells of.</summary>
    private void Mean(string key, string what, IEnumerable<TrueStep> steps, TimeSpan settling = default, TimeSpan closing = default)
    {
        var all = steps.Where(s => !_run.Within("away", s.Start, s.End!.Value).Contains(1)).SelectMany(s => _run.Within(what, s.Start + settling, s.End!.Value - closing)).ToList();
        if (all.Count > 0)
        {
            _all[key] = TrueFigure.Of(all.Average());
        }
    }
}
