using System.Globalization;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;

namespace WashBridge.Forwarding;

/// <summary>What the analysis finds, and what people do about it, as points; EventPoints has begun them with what every point has.</summary>
internal static class FindingPoints
{
    /// <summary>The mere passing of time has no point, and who may do what at the bridge is not the plant's concern.</summary>
    public static bool HasNone(WashEvent washEvent) => washEvent is TimePassed or AccountChanged;

    /// <summary>The measurement of an event, or null if it is none of these.</summary>
    public static string? Measurement(WashEvent washEvent) => washEvent switch
    {
        AlarmChanged => "wash_alarm",
        AlarmOrdered or AlarmOrderRefused => "wash_alarm_order",
        DriftFound or DriftEnded => "wash_drift",
        SetpointDeviated or SetpointConformed => "wash_setpoint_deviation",
        ForecastMade => "wash_forecast",
        ForecastScored => "wash_forecast_score",
        MaintenanceRecorded => "wash_maintenance",
        _ => null,
    };

    public static LinePoint Fill(LinePoint point, WashEvent washEvent) => washEvent switch
    {
        AlarmChanged e => point.Tag("alarm", e.Alarm).Tag("state", Words.Of(e.To)).Tag("priority", Words.Of(e.Priority))
            .Field("stands", AlarmLifeCycle.Stands(e.To)).Field("announced", AlarmLifeCycle.IsAnnounced(e.From, e.To))
            .Field("what", e.Text.What).Field("by", e.By).Field("reason", e.Reason),
        AlarmOrdered e => Order(point, e.Order).Tag("state", "ordered").Field("refused", false),
        AlarmOrderRefused e => Order(point, e.Order).Tag("state", "refused").Field("refused", true).Field("problem", e.Problem),
        DriftFound { Finding: var f } => point.Tag("feature", f.Feature).Tag("state", "found").Tag("chart", Words.Of(f.Chart)).Tag("unit", f.Unit)
            .Field("drifts", true).Field("size", f.Size).Field("size_uncertainty", f.SizeUncertainty).Field("centre", f.Centre).Field("spread", f.Spread)
            .Field("cycles_touched", f.CyclesTouched).Field("kegs_touched", f.KegCount).Field("onset", f.Onset.At.ToString()),
        DriftEnded e => point.Tag("feature", e.Feature).Tag("state", "ended").Field("drifts", false).Field("reason", e.Reason),
        SetpointDeviated { Finding: var f } => point.Tag("setpoint", f.Setpoint).Tag("state", "deviated").Tag("unit", f.Unit).Tag("recipe", f.Recipe)
            .Tag("recipe_version", f.RecipeVersion.ToString(CultureInfo.InvariantCulture)).Field("deviates", true).Field("approved", f.Approved).Field("set", f.Set),
        SetpointConformed e => point.Tag("setpoint", e.Setpoint).Tag("state", "conformed").Field("deviates", false),
        ForecastMade { Forecast: var f } => point.Tag("component", f.Component.Key).Tag("state", Words.Of(f.State)).Tag("index", f.Index).Tag("unit", f.Unit)
            .Field("now", f.Now).Field("limit", f.Limit).Field("slope_per_1000", f.Slope).Field("cycles", f.Cycles)
            .Field("cycles_left", f.CyclesLeft).Field("cycles_left_lower", f.CyclesLeftLower).Field("cycles_left_upper", f.CyclesLeftUpper)
            .Field("due", f.Due?.ToString()).Field("cause", f.Causes.Count > 0 ? f.Causes[0].Name : null).Field("cause_weight", f.Causes.Count > 0 ? f.Causes[0].Weight : null),
        ForecastScored { Score: var s } => point.Tag("component", s.Forecast.Component.Key)
            .Field("cycles_run", s.CyclesRun).Field("cycles_left", s.Forecast.CyclesLeft).Field("cycles_left_lower", s.Forecast.CyclesLeftLower)
            .Field("cycles_left_upper", s.Forecast.CyclesLeftUpper).Field("outcome", s.Outcome),
        MaintenanceRecorded e => point.Tag("component", e.Component.Key).Tag("work", Words.Of(e.Work)).Field("by", e.By).Field("note", e.Note).Field("had_failed", e.HadFailed),
        _ => throw new LineProtocolException($"no measurement is laid down for events of type {washEvent.GetType().Name}"),
    };

    private static LinePoint Order(LinePoint point, AlarmOrder order) => point.Tag("alarm", order.Alarm).Tag("order", Words.Of(order.Kind))
        .Field("by", order.By).Field("reason", order.Reason).Field("until", order.Until?.ToString());
}
