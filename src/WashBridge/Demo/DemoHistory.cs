using Microsoft.Extensions.Logging.Abstractions;
using Spectre.Console;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Reporting;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;

namespace WashBridge.Demo;

/// <summary>
/// Hours of washing before the demonstration begins, in virtual time: polled as the site's files say, cut into cycles, judged and measured as everything else. Only the
/// figures of the cycles go into the store, because they are all that the analysis needs: the report shows what was really read.
/// </summary>
internal static class DemoHistory
{
    /// <summary>The past ends so long before the demonstration begins.</summary>
    private static readonly TimeSpan Gap = TimeSpan.FromSeconds(1);

    public static void Make(Site site, FileInfo store, TimeSpan length, Instant before, IAnsiConsole console, CancellationToken cancellation)
    {
        console.WriteLine($"Simulating the {length.TotalHours:0.#} hours before: invented cycles, from which the analysis learns what is usual.");
        var start = before - Gap - length;
        var washers = DemoScenario.Washers.AsParallel().WithCancellation(cancellation)
            .Select(washer => Record(washer, site.Washers.Single(w => w.Model.Washer == washer.Options.Id), start, length, cancellation))
            .ToList();
        var events = washers.SelectMany(w => w).OrderBy(e => e.At.Latest).ThenBy(e => e.Id, StringComparer.Ordinal).ToList();
        using var historian = Historian.Historian.Open(store.FullName, new HistorianOptions(), TimeProvider.System);
        historian.AppendEvents(events);
        var analysis = new AnalysisFollower(historian, site, NullLogger.Instance);
        analysis.CatchUp(cancellation: cancellation);
        analysis.Save();
        Tell(historian, events.Count, console);
    }

    private static List<WashEvent> Record(DemoWasher washer, WasherConfiguration configuration, Instant start, TimeSpan length, CancellationToken cancellation)
    {
        var poller = new VirtualPoller(DemoPast.Make(washer, length), new PollerOptions
        {
            Seed = washer.Options.Seed,
            Start = start,
            Groups = [.. configuration.Groups.Select(g => new VirtualPollGroup(g.Number, g.Every, g.Heartbeat))],
        });
        var (segmenter, frames, measured) = (new Segmenter(configuration.Model), new List<Frame>(), new List<WashEvent>());
        var deadBands = configuration.Tags.ToDictionary(t => t.Signal, DeadBands.Of);
        var lead = configuration.Groups.Max(g => g.Heartbeat);
        CycleRecord? before = null;
        foreach (var frame in poller.PollUntil(length))
        {
            cancellation.ThrowIfCancellationRequested();
            frames.Add(frame);
            foreach (var cycle in segmenter.Accept(frame).OfType<CycleEnded>().Select(e => e.Cycle))
            {
                measured.Add(Measure(cycle, before, frames, configuration.RecipeFor(cycle.Programme), deadBands));
                before = cycle;
                frames.RemoveAll(f => f.Read.Latest < cycle.End.Earliest.Wall - lead);
            }
        }

        return measured;
    }

    private static CycleMeasured Measure(CycleRecord cycle, CycleRecord? before, List<Frame> frames, Recipe recipe, Dictionary<Signal, double> deadBands)
    {
        var verdicts = Judge.Decide(cycle, frames, recipe, []);
        return new CycleMeasured
        {
            Id = $"{cycle.Id}/measured",
            Washer = cycle.Washer,
            CycleId = cycle.Id,
            At = cycle.End.Wall,
            Features = FeatureExtractor.Of(cycle, frames, recipe, [.. verdicts.Select(v => new WashedKeg(v.Station, v.KegId))], before?.End.Wall, s => deadBands.GetValueOrDefault(s)),
        };
    }

    /// <summary>What the analysis has found in the invented hours.</summary>
    private static void Tell(Historian.Historian historian, int cycles, IAnsiConsole console)
    {
        var findings = AnalysisReport.Stored(historian, null, new Instant(long.MaxValue));
        console.WriteLine($"{cycles} invented cycles are analysed.");
        foreach (var line in ForecastLine.Of(findings).Where(l => l.Forecast.State >= ForecastState.Approaching))
        {
            console.WriteLine($"  {line.Made.Washer}: {AnalysisWords.Line(line.Forecast)}");
        }

        foreach (var alarm in AlarmBoard.Read(historian).Open.Where(a => AlarmLifeCycle.Stands(a.To)))
        {
            console.WriteLine($"  alarm ({AnalysisWords.Of(alarm.Priority)} priority): {alarm.Text.What}");
            console.WriteLine($"    Kegs: {alarm.Text.Kegs}");
            console.WriteLine($"    Look at: {alarm.Text.LookAt}");
            console.WriteLine($"    Caution: {alarm.Text.Caution}");
        }
    }
}
