using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Orders;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Orders;

/// <summary>A historian with a desk, at which time stands still until a test moves it.</summary>
internal sealed class RecordStore : IDisposable
{
    public static readonly IReadOnlyList<KnownWasher> Washers = [new("north", 2), new("yard", 4)];

    private readonly TemporaryFolder _folder = new();

    public RecordStore()
    {
        Historian = HistorianFile.Open(Path, new HistorianOptions(), Time);
        Desk = new RecordDesk(Historian, signal: null, Time);
    }

    public SettableTime Time { get; } = new(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));

    public string Path => _folder["a.washdb"];

    public HistorianFile Historian { get; private set; }

    public RecordDesk Desk { get; }

    public DateTimeOffset Now => Time.GetUtcNow();

    public RecordStore Washed(string keg, int cycle = 1, Verdict verdict = Verdict.Met)
    {
        Historian.AppendEvents([new KegJudged
        {
            Id = $"c{cycle}/s2/verdict", Washer = "north", At = TimeBounds.At(Instant.Floor(Now)), CycleId = $"c{cycle}",
            Verdict = new KegVerdict
            {
                KegId = keg, KegIdSource = KegIdSource.Scan, CycleId = $"c{cycle}", Washer = "north", Station = 2, Recipe = "standard", RecipeVersion = 1,
                Rule = new DecisionRule(DecisionMethod.Bounds, 0), Verdict = verdict,
                Results = verdict == Verdict.Met ? [] : [new RequirementResult { Requirement = "sanitiser dwell", Verdict = verdict, Evidence = "held 44.5 s, 45 s asked for" }],
            },
        }]);
        return this;
    }

    public WashEvent Told(ToldDecision told, Teller? teller = null) => Take((historian, now) => Telling.Decision(told, historian, now, teller));

    public WashEvent Told(ToldTitration told, Teller? teller = null) => Take((_, now) => Telling.Titration(told, Washers, now, teller));

    public WashEvent Told(ToldInspection told, Teller? teller = null) => Take((historian, now) => Telling.Inspection(told, historian, now, teller));

    public WashEvent Told(ToldCorrection told, Teller? teller = null) => Take((historian, now) => Telling.Correction(told, historian, now, teller));

    /// <summary>For commands, which open the file by themselves.</summary>
    public void Close() => Historian.Dispose();

    public void Dispose()
    {
        Historian.Dispose();
        _folder.Dispose();
    }

    private WashEvent Take(Func<IHistorian, DateTimeOffset, WashEvent> make)
    {
        Time.Advance(TimeSpan.FromSeconds(1));
        return Desk.Take(make);
    }
}
