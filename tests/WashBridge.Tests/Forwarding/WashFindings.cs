using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;

namespace WashBridge.Tests.Forwarding;

/// <summary>One of each kind of what the analysis finds and what people do about it.</summary>
internal static class WashFindings
{
    public static IEnumerable<WashEvent> Of(string cycle, string washer, Func<TimeBounds> next)
    {
        var at = next();
        yield return new CycleMeasured
        {
            Id = $"{cycle}/measured", Washer = washer, CycleId = cycle, At = at,
            Features = new CycleFeatures { Outcome = CycleOutcome.Completed, Started = at.Earliest, Ended = at.Latest, Recipe = "standard", RecipeVersion = 3, Programme = 1, Kegs = [new WashedKeg(2, "K-1")], Figures = [new Feature("drain-time/rinse/1", 2, 8.4, 0.05), new Feature("kegs", 0, 2, 0)] },
        };
        yield return new DriftFound { Id = $"{cycle}/drift", Washer = washer, CycleId = cycle, At = next(), Finding = Drift(cycle, at) };
        yield return new DriftEnded { Id = $"{cycle}/drift/ended", Washer = washer, CycleId = cycle, At = next(), Feature = "drain-index@2", Reason = "back within its reference" };
        yield return new SetpointDeviated { Id = $"{cycle}/deviated", Washer = washer, At = next(), Finding = new SetpointFinding("sanitise.hold", "s", 45, 40, "standard", 3) };
        yield return new SetpointConformed { Id = $"{cycle}/conformed", Washer = washer, At = next(), Setpoint = "sanitise.hold" };
        yield return new ForecastMade { Id = $"{cycle}/forecast", Washer = washer, CycleId = cycle, At = next(), Forecast = Forecast(at) };
        yield return new ForecastScored { Id = $"{cycle}/score", Washer = washer, At = next(), Score = new ForecastScore(Forecast(at), at.Latest, 480, 2.9, "within its interval") };
        yield return new MaintenanceRecorded { Id = $"{cycle}/work", Washer = washer, At = next(), Component = new Component(ComponentKind.DrainValve, Station: 2), Work = MaintenanceKind.Restored, By = "T. Ester", Note = "strainer cleaned" };
        yield return Alarm(cycle, washer, next(), AlarmState.Normal, AlarmState.Unacknowledged);
        var order = new AlarmOrder("drain-valve@2", AlarmOrderKind.Shelve, "T. Ester", "part is ordered", at.Latest + TimeSpan.FromHours(8));
        yield return new AlarmOrdered { Id = $"{cycle}/order", Washer = washer, At = next(), Order = order };
        yield return new AlarmOrderRefused { Id = $"{cycle}/order/refused", Washer = washer, At = next(), Order = order, Problem = "it is out of service" };
        yield return Alarm(cycle, washer, next(), AlarmState.Unacknowledged, AlarmState.Shelved) with { By = "T. Ester", Reason = "part is ordered", Until = order.Until };
        var act = new Act { By = "T. Ester", Role = Role.Qa, Reason = "as agreed", Means = Means.Page, Entered = at.Latest };
        yield return new KegDecided { Id = $"{cycle}/decision", Washer = washer, CycleId = cycle, At = next(), Act = act, KegId = "K-1", Station = 2, Decision = KegDecision.Release, Was = KegDecision.Hold, VerdictId = $"{cycle}/2/verdict", Verdict = Verdict.Met };
        yield return new KegInspected { Id = $"{cycle}/inspection", Washer = washer, CycleId = cycle, At = next(), Act = act, KegId = "K-1", Lot = "early", Inspection = InspectionKind.Swab, Passed = true, Found = "clean", Value = 12, Unit = "{RLU}" };
        yield return new LotSampled { Id = $"{cycle}/draw", Washer = WashEvent.WholeSite, At = next(), Act = act, Lot = "early", Size = 40, Fingerprint = "f", Plan = "open 2", AcceptanceNumber = 0, Seed = "s", Drawn = ["K-1", "K-2"], Proof = "p" };
        yield return new TitrationRecorded { Id = $"{cycle}/titration", Washer = washer, At = next(), Act = act, Bath = "caustic", Strength = 2.1, Unit = "%", Method = "acid to the second end point" };
        yield return new BathChanged { Id = $"{cycle}/bath", Washer = washer, At = next(), Act = act, Bath = "caustic" };
        yield return new RecordCorrected { Id = $"{cycle}/correction", Washer = washer, At = next(), Act = act, Number = 7, Of = "titration-recorded", Field = "strength", OldValue = "2.1", NewValue = "1.2" };
        yield return new RecipeActed { Id = $"{cycle}/recipe", Washer = WashEvent.WholeSite, At = next(), Act = act, RecipeId = "standard", Version = 4, Step = RecipeStep.Approved, Approvals = 1 };
        yield return new KegRejudged
        {
            Id = $"{cycle}/rejudged", Washer = washer, CycleId = cycle, At = next(), Act = act, Fingerprint = "00", Was = Verdict.Met, WasId = $"{cycle}/2/verdict", WasRecipe = "standard", WasVersion = 3,
            Verdict = new KegVerdict { KegId = "K-1", KegIdSource = KegIdSource.Scan, CycleId = cycle, Washer = washer, Station = 2, Recipe = "standard", RecipeVersion = 4, Rule = DecisionRule.Bounds, Verdict = Verdict.NotMet, Results = [] },
        };
        yield return new AccountChanged { Id = $"{cycle}/account", Washer = WashEvent.WholeSite, At = next(), Act = act, User = "tester", Change = "role", OldValue = "Viewer", NewValue = "Qa" };
        yield return new TimePassed { Id = $"{cycle}/time", Washer = washer, At = next() };
    }

    private static AlarmChanged Alarm(string cycle, string washer, TimeBounds at, AlarmState from, AlarmState to) => new()
    {
        Id = $"{cycle}/alarm/{to}", Washer = washer, CycleId = cycle, At = at, Alarm = "drain-valve@2", From = from, To = to, Priority = AlarmPriority.Medium, Since = at.Latest,
        Text = new AlarmText { What = "Drain valve of station 2 is wearing.", Kegs = "Kegs drain slowly.", LookAt = "Strainer." },
    };

    private static DriftFinding Drift(string cycle, TimeBounds at) => new()
    {
        Feature = "drain-index@2", Chart = ChartKind.Cusum, Unit = "s", Centre = 1, Spread = 0.02, ReferenceCycles = 200, Size = 0.05, SizeUncertainty = 0.01,
        Onset = new CycleSpan(cycle, at.Latest, at.Earliest, at.Latest), CyclesTouched = 12, Kegs = ["K-1"], KegCount = 12, FalseAlarmEvery = 10_000,
    };

    private static Forecast Forecast(TimeBounds at) => new()
    {
        Component = new Component(ComponentKind.DrainValve, Station: 2), State = ForecastState.Approaching, Index = "drain-index@2", Unit = "s", Now = 1.4, Limit = 3, Slope = 2, SlopeUncertainty = 0.2,
        CyclesLeft = 500, CyclesLeftLower = 300, CyclesLeftUpper = 900, Due = at.Latest + TimeSpan.FromDays(5), DueEarliest = at.Latest + TimeSpan.FromDays(3), DueLatest = at.Latest + TimeSpan.FromDays(9),
        Cycles = 700, Causes = [new Cause("clogging-valve", "the drain valve clogs", 0.8, [], [])],
    };
}
