using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;

namespace WashBridge.Forwarding;

/// <summary>What people record, as points; EventPoints has begun them with what every point has.</summary>
internal static class RecordPoints
{
    /// <summary>The measurement of an event, or null if it is none of these.</summary>
    public static string? Measurement(WashEvent washEvent) => washEvent switch
    {
        KegDecided => "wash_decision",
        KegInspected => "wash_inspection",
        LotSampled => "wash_lot_sample",
        TitrationRecorded => "wash_titration",
        BathChanged => "wash_bath_change",
        RecordCorrected => "wash_correction",
        RecipeActed => "wash_recipe_act",
        KegRejudged => "wash_rejudged",
        _ => null,
    };

    public static LinePoint Fill(LinePoint point, WashEvent washEvent) => washEvent switch
    {
        KegDecided e => Told(point, e.Act).Tag("decision", Words.Of(e.Decision)).Tag("station", Station(e.Station)).Tag("verdict", e.Verdict is { } verdict ? Words.Of(verdict) : null)
            .Field("keg", e.KegId).Field("was", e.Was is { } was ? Words.Of(was) : null).Field("verdict_id", e.VerdictId),
        KegInspected e => Told(point, e.Act).Tag("inspection", Words.Of(e.Inspection)).Tag("unit", e.Unit)
            .Field("keg", e.KegId).Field("lot", e.Lot).Field("passed", e.Passed).Field("found", e.Found).Field("value", e.Value),
        LotSampled e => Told(point, e.Act).Field("lot", e.Lot).Field("kegs", e.Size).Field("drawn", e.Drawn.Count).Field("accept", e.AcceptanceNumber)
            .Field("plan", e.Plan).Field("seed", e.Seed).Field("fingerprint", e.Fingerprint),
        TitrationRecorded e => Told(point, e.Act).Tag("bath", e.Bath).Tag("unit", e.Unit).Field("strength", e.Strength).Field("method", e.Method),
        BathChanged e => Told(point, e.Act).Tag("bath", e.Bath).Field("changed", true),
        RecordCorrected e => Told(point, e.Act).Tag("of", e.Of).Field("number", e.Number).Field("field", e.Field).Field("old_value", e.OldValue).Field("new_value", e.NewValue),
        RecipeActed e => Told(point, e.Act).Tag("recipe", e.RecipeId).Tag("recipe_version", e.Version.ToString(CultureInfo.InvariantCulture)).Tag("act", Words.Of(e.Step)).Field("done", true),
        KegRejudged e => Told(point, e.Act).Tag("recipe", e.Verdict.Recipe).Tag("recipe_version", e.Verdict.RecipeVersion.ToString(CultureInfo.InvariantCulture))
            .Tag("verdict", Words.Of(e.Verdict.Verdict)).Tag("station", Station(e.Verdict.Station)).Field("keg", e.Verdict.KegId).Field("was", Words.Of(e.Was)).Field("was_id", e.WasId),
        _ => throw new LineProtocolException($"no measurement is laid down for events of type {washEvent.GetType().Name}"),
    };

    private static LinePoint Told(LinePoint point, Act act) => point.Field("by", act.By).Field("reason", act.Reason);

    private static string? Station(int station) => station > 0 ? station.ToString(CultureInfo.InvariantCulture) : null;
}
