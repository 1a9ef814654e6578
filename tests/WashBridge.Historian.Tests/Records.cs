using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Historian.Tests;

/// <summary>Small invented records.</summary>
internal static class Records
{
    public static WashEvent Titration(int number, string by = "T. Ester", double strength = 2) => new TitrationRecorded
    {
        Id = $"w1/titration/{number}",
        Washer = "w1",
        At = TimeBounds.At(Store.At(number)),
        Act = Act(number, by),
        Bath = "caustic",
        Strength = strength,
        Unit = "%",
    };

    public static WashEvent Account(int number) => new AccountChanged
    {
        Id = $"site/account/{number}",
        Washer = WashEvent.WholeSite,
        At = TimeBounds.At(Store.At(number)),
        Act = Act(number, "A. Ministrator"),
        User = "tester",
        Change = "role",
        OldValue = "Viewer",
        NewValue = "Qa",
    };

    public static KegJudged Judged(int number, string keg, Verdict verdict = Verdict.Met) => new()
    {
        Id = $"c{number}/s1/verdict",
        Washer = "w1",
        At = TimeBounds.At(Store.At(number)),
        CycleId = $"c{number}",
        Verdict = new KegVerdict
        {
            KegId = keg, KegIdSource = KegIdSource.Scan, CycleId = $"c{number}", Washer = "w1", Station = 1, Recipe = "standard", RecipeVersion = 1,
            Rule = new DecisionRule(DecisionMethod.Bounds, 0), Verdict = verdict, Results = [],
        },
    };

    public static RecordCorrected Correction(int number, long of, string field, string? newValue, params string[] kegs) => new()
    {
        Id = $"w1/correction/{number}",
        Washer = "w1",
        At = TimeBounds.At(Store.At(number)),
        Act = Act(number, "T. Ester"),
        Number = of,
        Of = "keg-scanned",
        Field = field,
        OldValue = "\"?\"",
        NewValue = newValue,
        KegIds = kegs,
    };

    private static Act Act(int number, string by) => new() { By = by, Role = Role.Operator, Reason = "as every morning", Means = Means.Page, Entered = Store.At(number) };
}
