using Spectre.Console;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Reporting;

namespace WashBridge.Demo;

/// <summary>Prints events as the historian commits them, from now on: what a person at the line would want to hear, one line each.</summary>
internal sealed class LiveView(IHistorianReader historian, IAnsiConsole console)
{
    /// <summary>Reasons shown for a keg; a cycle that was hardly watched has one for every requirement.</summary>
    private const int MostReasons = 2;

    private readonly DrainTrend _drains = new();
    private readonly Dictionary<string, string> _phases = [];
    private readonly HashSet<string> _lost = [];
    private long _cursor = historian.LastSequence;

    public async Task RunAsync(HistorianSignal signal, CancellationToken cancellation)
    {
        try
        {
            while (true)
            {
                var seen = signal.Last;
                Print();
                await signal.WaitAsync(seen, cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
        }
    }

    /// <summary>Prints all that is there. Also called once after the end, for what came with the stop.</summary>
    public void Print()
    {
        while (historian.ReadLog(_cursor, 1000, LogContent.Events) is { Count: > 0 } entries)
        {
            foreach (var entry in entries)
            {
                Print(entry.Event!);
                _cursor = entry.Sequence;
            }
        }
    }

    private void Print(WashEvent washEvent)
    {
        switch (washEvent)
        {
            case CycleStarted started:
                Say(started, "cycle starts" + (started.StartUnseen ? " (its start was not seen)" : ""));
                break;
            case StepStarted step when _phases.GetValueOrDefault(step.Washer) != $"{step.CycleId}/{step.Phase}":
                _phases[step.Washer] = $"{step.CycleId}/{step.Phase}";
                Say(step, $"  {step.Phase}");
                break;
            case CyclePaused:
                Say(washEvent, "  paused");
                break;
            case CycleResumed resumed:
                Say(washEvent, $"  goes on after {Words.Of(resumed.Pause.Duration)}");
                break;
            case CycleEnded ended:
                Say(ended, $"cycle {Words.Of(ended.Cycle.Outcome)}{Took(ended.Cycle)}");
                foreach (var line in _drains.Lines(ended.Cycle))
                {
                    Say(ended, line);
                }

                break;
            case KegJudged judged:
                Say(judged, judged.Verdict);
                break;
            case SetpointChanged change:
                Say(change, FormattableString.Invariant($"{change.Setpoint} changed from {change.OldValue} to {change.NewValue} {change.Unit}"));
                break;
            case SourceLost lost when _lost.Add(lost.Washer):
                Say(lost, $"connection lost: {lost.Reason}");
                break;
            case SourceRestored restored when _lost.Remove(restored.Washer):
                Say(restored, FormattableString.Invariant($"connected again; nothing was seen for {restored.Gap.Width.TotalSeconds:0.0} s"));
                break;
            case AlarmChanged alarm:
                Say(alarm);
                break;
            case ForecastMade { Forecast.State: ForecastState.Approaching or ForecastState.Reached } made:
                Say(made, AnalysisWords.Line(made.Forecast));
                break;
            case DriftEnded ended:
                Say(ended, $"{FigureTitle.WithPlace(ended.Feature)} no longer drifts: {ended.Reason}");
                break;
            default:
                break;
        }
    }

    /// <summary>What a person is told in full when it arises; what became of it in a line.</summary>
    private void Say(AlarmChanged alarm)
    {
        if (!AlarmLifeCycle.IsAnnounced(alarm.From, alarm.To))
        {
            Say(alarm, $"alarm {alarm.Alarm} is {AnalysisWords.Of(alarm.To)}{(alarm.Reason is { } reason ? $" ({reason})" : "")}");
            return;
        }

        SayMarkup(alarm, $"[bold]ALARM[/] {Markup.Escape($"({AnalysisWords.Of(alarm.Priority)} priority) {alarm.Text.What}")}");
        Say(alarm, $"    Kegs: {alarm.Text.Kegs}");
        Say(alarm, $"    Look at: {alarm.Text.LookAt}");
        if (alarm.Text.Caution.Length > 0)
        {
            Say(alarm, $"    Caution: {alarm.Text.Caution}");
        }
    }

    private void Say(WashEvent washEvent, KegVerdict keg)
    {
        var name = keg.KegIdSource == KegIdSource.Made ? "keg" : $"keg {keg.KegId}";
        var head = $"{Markup.Escape(name)} at station {keg.Station}: {TableReport.Styled(keg.Verdict)}";
        if (keg.Verdict == Verdict.Met)
        {
            SayMarkup(washEvent, $"{head}, all {keg.Results.Count} requirements");
            return;
        }

        SayMarkup(washEvent, head);
        var reasons = keg.Results.Where(r => r.Verdict == keg.Verdict).ToList();
        foreach (var reason in reasons.Take(MostReasons))
        {
            Say(washEvent, $"    {reason.Requirement}: {reason.Evidence}");
        }

        if (reasons.Count > MostReasons)
        {
            Say(washEvent, $"    and {reasons.Count - MostReasons} more; the report has them all");
        }
    }

    private static string Took(CycleRecord cycle) => cycle.Start.Until(cycle.End) is { IsUpperKnown: true } took ? $" in {Words.Of(took)}" : "";

    private void Say(WashEvent washEvent, string text) => SayMarkup(washEvent, Markup.Escape(text));

    private void SayMarkup(WashEvent washEvent, string text) =>
        console.MarkupLine($"{washEvent.At.Latest.ToDateTimeOffset():HH:mm:ss}  {Markup.Escape(washEvent.Washer),-10} {text}");
}
