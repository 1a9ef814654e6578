using System.Globalization;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Reporting;

/// <summary>Records in a person's words, the same in every output.</summary>
internal static class RecordWords
{
    /// <summary>What was done, or found of a keg, without who and why: these stand beside it.</summary>
    public static string What(WashEvent record) => record switch
    {
        KegDecided decided => $"keg {decided.KegId}: {Of(decided.Decision)}{(decided.Verdict is { } verdict ? $", verdict {Words.Of(verdict)}" : "")}{(decided.Was is { } was ? $"; before: {Of(was)}" : "")}",
        KegScanned scanned => $"keg {scanned.KegId} scanned at station {scanned.Station}",
        KegJudged { Verdict: var v } => $"washed at station {v.Station}: {Words.Of(v.Verdict)} (recipe {v.Recipe} {v.RecipeVersion}), cycle {v.CycleId}",
        KegInspected inspected => Inspection(inspected),
        LotSampled lot => $"lot {lot.Lot}: {lot.Drawn.Count} of {lot.Size} kegs drawn to be opened ({lot.Plan})",
        TitrationRecorded titration => string.Create(CultureInfo.InvariantCulture, $"{titration.Bath} titrated: {titration.Strength} {titration.Unit}{(titration.Method.Length > 0 ? $" ({titration.Method})" : "")}"),
        BathChanged bath => $"{bath.Bath} bath made up anew",
        MaintenanceRecorded work => $"{work.Component.Key} {Of(work.Work)}{(work.HadFailed ? "; it had failed" : "")}",
        AlarmOrdered ordered => $"alarm {ordered.Order.Alarm}: {Of(ordered.Order.Kind)}",
        AccountChanged account => $"account {account.User}: {account.Change}{Change(account.OldValue, account.NewValue)}",
        RecordCorrected corrected => $"record {corrected.Number} corrected, {corrected.Field}: {corrected.OldValue ?? "not set"} is now {corrected.NewValue ?? "not set"}",
        RecipeActed acted => $"recipe {acted.RecipeId} version {acted.Version} {Of(acted.Step)}{(acted.From is { } from ? $", in force not before {from}" : "")}",
        KegRejudged again => $"keg {again.Verdict.KegId} judged again by {again.Verdict.Recipe} version {again.Verdict.RecipeVersion}: {Words.Of(again.Verdict.Verdict)}; by {again.WasRecipe} version {again.WasVersion}: {Words.Of(again.Was)}",
        _ => Core.WashJson.KindOf(record).Replace('-', ' '),
    };

    public static string Of(RecipeStep step) => step.ToString().ToLowerInvariant();

    public static string Of(KegDecision decision) => decision switch
    {
        KegDecision.Hold => "held",
        KegDecision.Release => "released",
        _ => "to be washed again",
    };

    public static string Of(KegStanding standing) => standing switch
    {
        KegStanding.NoVerdict => "not judged",
        KegStanding.Undecided => "not decided",
        KegStanding.Held => "held",
        KegStanding.Released => "released",
        _ => "to be washed again",
    };

    public static string Of(Role role) => role == Role.Qa ? "QA" : role.ToString().ToLowerInvariant();

    public static string Of(Means means) => means switch
    {
        Means.Page => "page",
        Means.Api => "programming interface",
        Means.Command => "command",
        _ => "scanner",
    };

    /// <summary>Who, and as what. A name that a command gave is told from that of somebody who had logged in.</summary>
    public static string Who(Act act) => (act.By.Length > 0 ? act.By : "nobody named") + (act switch
    {
        { Role: { } role } => $" ({Of(role)})",
        { Means: Means.Command } => " (by command)",
        _ => "",
    });

    /// <summary>Local time with seconds and offset.</summary>
    public static string Time(Instant at, TimeZoneInfo zone) => TimeZoneInfo.ConvertTime(at.ToDateTimeOffset(), zone).ToString("yyyy-MM-dd HH:mm:ss zzz", CultureInfo.InvariantCulture);

    private static string Inspection(KegInspected inspected)
    {
        var how = inspected.Inspection switch { InspectionKind.SpearPull => "spear pulled", InspectionKind.Swab => "swabbed", _ => "rest titrated" };
        var measured = inspected.Value is { } value ? string.Create(CultureInfo.InvariantCulture, $", {value} {inspected.Unit}") : "";
        return $"keg {inspected.KegId} {how}: {(inspected.Passed ? "passed" : "did not pass")}{measured}{(inspected.Found.Length > 0 ? $", {inspected.Found}" : "")}";
    }

    private static string Change(string? before, string? after) => (before, after) switch
    {
        (null, null) => "",
        (null, _) => $": {after}",
        _ => $": {before} is now {after ?? "not set"}",
    };

    private static string Of(MaintenanceKind work) => work.ToString().ToLowerInvariant();

    private static string Of(AlarmOrderKind order) => order switch
    {
        AlarmOrderKind.TakeOutOfService => "taken out of service",
        AlarmOrderKind.ReturnToService => "returned to service",
        AlarmOrderKind.Acknowledge => "acknowledged",
        AlarmOrderKind.Shelve => "shelved",
        _ => "unshelved",
    };
}
