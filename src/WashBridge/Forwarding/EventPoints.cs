using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Forwarding;

/// <summary>
/// Events as points. SCHEMA.md lists every measurement, tag and field; what is written there is promised to dashboards.
/// An event has one point of its own, except for those that are evidence for others; a cycle brings one for each phase besides, a judgement one for each requirement, a measured cycle one for each figure.
/// </summary>
internal sealed class EventPoints(string site)
{
    private readonly LinePoint _point = new();

    public void Append(long sequence, WashEvent washEvent, LineBatch batch)
    {
        if (FindingPoints.HasNone(washEvent))
        {
            return;
        }

        var origin = new LineOrigin(sequence, washEvent.Id);
        try
        {
            var time = washEvent is AlarmChanged change ? PointTime.InTurn(change.At, change.Turn ?? 0) : PointTime.Of(washEvent.At, washEvent.Id);
            batch.Add(Fill(washEvent), time, origin);
            switch (washEvent)
            {
                case CycleEnded ended:
                    AppendPhases(ended, time, origin, batch);
                    break;
                case KegJudged judged:
                    AppendResults(judged, time, origin, batch);
                    break;
                case CycleMeasured measured:
                    AppendFigures(measured, time, origin, batch);
                    break;
            }
        }
        catch (LineProtocolException e)
        {
            batch.AddInexpressible(origin, e.Message);
        }
    }

    private LinePoint Fill(WashEvent washEvent) => washEvent switch
    {
        CycleStarted e => Start("wash_cycle_start", e).Field("start_unseen", e.StartUnseen),
        StepStarted e => Position(Start("wash_step_start", e), e.Phase, e.PhaseKind, e.Pass, e.Step)
            .Field("position", $"{e.Phase}/{e.Pass}/{Words.Of(e.Step)}"),
        StepEnded e => Held(Position(Start("wash_step", e), e.Phase, e.PhaseKind, e.Pass, e.Step.Kind), e.Step.Held)
            .Field("seen", e.Step.Seen).Field("interrupted", e.Step.Interrupted),
        DrainMeasured e => Held(Start("wash_drain", e), e.Drain.Time)
            .Tag("station", Number(e.Station)).Tag("phase", e.Drain.Phase).Tag("pass", Number(e.Drain.Pass))
            .Field("dry", e.Drain.Dry is not null).Field("shared", e.Drain.Shared),
        CyclePaused e => Start("wash_pause", e).Tag("state", "paused").Field("paused", true),
        CycleResumed e => Held(Start("wash_pause", e).Tag("state", "resumed").Field("paused", false), e.Pause.Duration),
        CycleEnded e => Cycle(Start("wash_cycle", e), e.Cycle),
        KegJudged e => Keg(Judged("wash_keg", e), e.Verdict).Tag("verdict", Words.Of(e.Verdict.Verdict)),
        KegScanned e => Start("wash_scan", e).Tag("station", Number(e.Station)).Field("keg", e.KegId),
        SetpointChanged e => Start("wash_setpoint", e).Tag("setpoint", e.Setpoint).Tag("unit", e.Unit)
            .Field("old_value", e.OldValue).Field("new_value", e.NewValue),
        SourceLost e => Start("wash_source", e).Tag("group", Number(e.Group)).Tag("state", "lost").Field("up", false).Field("reason", e.Reason),
        SourceRestored e => Start("wash_source", e).Tag("group", Number(e.Group)).Tag("state", "restored").Field("up", true)
            .Field("gap_s", e.Gap.Width.TotalSeconds),
        ClockStepped e => Start("wash_clock", e).Field("shift_known", e.Shift is not null).Field("shift_s", e.Shift?.TotalSeconds)
            .Field("reason", e.Reason),
        CycleMeasured e => Measured(Start("wash_measured", e), e.Features),
        _ when FindingPoints.Measurement(washEvent) is { } measurement => FindingPoints.Fill(Start(measurement, washEvent), washEvent),
        _ when RecordPoints.Measurement(washEvent) is { } measurement => RecordPoints.Fill(Start(measurement, washEvent), washEvent),
        _ => throw new LineProtocolException($"no measurement is laid down for events of type {washEvent.GetType().Name}"),
    };

    /// <summary>What every point has; what is of no washer has no tag of one.</summary>
    private LinePoint Start(string measurement, WashEvent washEvent) => _point.Start(measurement)
        .Tag("site", site).Tag("washer", washEvent.Washer == WashEvent.WholeSite ? null : washEvent.Washer)
        .Field("id", washEvent.Id).Field("cycle", CycleOf(washEvent)).Field("width_us", Microseconds(washEvent.At));

    private static string? CycleOf(WashEvent washEvent) => washEvent switch
    {
        CycleEnded e => e.Cycle.Id,
        KegJudged e => e.Verdict.CycleId,
        _ => washEvent.CycleId,
    };

    private LinePoint Judged(string measurement, KegJudged e) => Start(measurement, e)
        .Tag("station", Number(e.Verdict.Station)).Tag("recipe", e.Verdict.Recipe).Tag("recipe_version", Number(e.Verdict.RecipeVersion))
        .Field("keg", e.Verdict.KegId);

    private static LinePoint Keg(LinePoint point, KegVerdict verdict) => Flags(point, verdict.Verdict)
        .Tag("rule", Words.Of(verdict.Rule.Method)).Tag("keg_id_source", Words.Of(verdict.KegIdSource))
        .Field("requirements", verdict.Results.Count)
        .Field("requirements_met", verdict.Results.Count(r => r.Verdict == Verdict.Met));

    /// <summary>The verdict as three flags, so that a rate is the mean of a field.</summary>
    private static LinePoint Flags(LinePoint point, Verdict verdict) => point
        .Field("met", verdict == Verdict.Met).Field("not_met", verdict == Verdict.NotMet).Field("not_proven", verdict == Verdict.NotProven);

    private static LinePoint Cycle(LinePoint point, CycleRecord cycle)
    {
        point.Tag("outcome", Words.Of(cycle.Outcome)).Tag("programme", cycle.Programme is { } programme ? Number(programme) : null)
            .Field("phases", cycle.Phases.Count).Field("gaps", cycle.Gaps.Count).Field("pauses", cycle.Pauses.Count)
            .Field("stations", cycle.Stations.Count).Field("kegs", cycle.Stations.Count(s => s.KegPresent != false))
            .Field("start_unseen", cycle.StartUnseen);
        if (cycle.CycleCount is { } count)
        {
            point.Field("cycle_count", count);
        }

        var duration = cycle.Start.Until(cycle.End);
        return Held(point, cycle.StartUnseen ? duration with { Upper = TimeSpan.MaxValue } : duration);
    }

    private void AppendPhases(CycleEnded ended, long time, LineOrigin origin, LineBatch batch)
    {
        for (var i = 0; i < ended.Cycle.Phases.Count; i++)
        {
            var phase = ended.Cycle.Phases[i];
            var point = Held(Start("wash_phase", ended), phase.Duration)
                .Tag("phase", phase.Id).Tag("phase_kind", Words.Of(phase.Kind)).Tag("order", Number(i + 1))
                .Field("passes", phase.Passes.Count);
            batch.Add(point, time, origin);
        }
    }

    private void AppendResults(KegJudged judged, long time, LineOrigin origin, LineBatch batch)
    {
        foreach (var result in judged.Verdict.Results)
        {
            var point = Flags(Judged("wash_requirement", judged), result.Verdict)
                .Tag("requirement", result.Requirement).Tag("verdict", Words.Of(result.Verdict)).Tag("unit", result.Unit)
                .Field("lower", result.Lower).Field("upper", result.Upper).Field("estimate", result.Estimate)
                .Field("uncertainty", result.StandardUncertainty).Field("limit", result.Limit).Field("evidence", result.Evidence);
            batch.Add(point, time, origin);
        }
    }

    private static LinePoint Measured(LinePoint point, CycleFeatures features) => point
        .Tag("outcome", Words.Of(features.Outcome)).Tag("programme", features.Programme is { } programme ? Number(programme) : null)
        .Tag("recipe", features.Recipe).Tag("recipe_version", Number(features.RecipeVersion))
        .Field("figures", features.Figures.Count).Field("kegs", features.Kegs.Count);

    private void AppendFigures(CycleMeasured measured, long time, LineOrigin origin, LineBatch batch)
    {
        foreach (var figure in measured.Features.Figures)
        {
            var point = Start("wash_figure", measured)
                .Tag("figure", figure.Name).Tag("family", figure.Family).Tag("station", figure.Station > 0 ? Number(figure.Station) : null)
                .Tag("unit", FeatureCatalogue.Find(figure.Name)?.Unit)
                .Field("value", figure.Value).Field("uncertainty", figure.Uncertainty);
            batch.Add(point, time, origin);
        }
    }

    private static LinePoint Position(LinePoint point, string phase, PhaseKind kind, int pass, StepKind step) => point
        .Tag("phase", phase).Tag("phase_kind", Words.Of(kind)).Tag("pass", Number(pass)).Tag("step", Words.Of(step));

    /// <summary>An open upper bound is no field.</summary>
    private static LinePoint Held(LinePoint point, DurationBounds duration) => point
        .Field("lower_s", duration.Lower.TotalSeconds)
        .Field("upper_s", duration.IsUpperKnown ? duration.Upper.TotalSeconds : null);

    private static long Microseconds(TimeBounds at) => at.Latest.UnixMicroseconds - at.Earliest.UnixMicroseconds;

    private static string Number(int number) => number.ToString(CultureInfo.InvariantCulture);
}
