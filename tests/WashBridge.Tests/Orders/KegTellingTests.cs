using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Orders;

namespace WashBridge.Tests.Orders;

public sealed class KegTellingTests : IDisposable
{
    private static readonly Teller Operator = new(Means.Page, "O. Perator", Role.Operator);
    private static readonly Teller Qa = new(Means.Page, "Q. Ass", Role.Qa);

    private readonly RecordStore _store = new();

    public void Dispose() => _store.Dispose();

    [Fact]
    public void A_decision_names_the_washing_and_the_verdict_that_it_goes_by_and_what_it_replaces()
    {
        _store.Washed("K-1", verdict: Verdict.NotProven);
        _store.Told(new ToldDecision("K-1", "hold", Reason: "valve leaks"), Operator);
        var made = Assert.IsType<KegDecided>(_store.Told(new ToldDecision(" K-1 ", "release", Reason: "valve replaced"), Qa));
        Assert.Equal(("north", "c1", 2, KegDecision.Release, KegDecision.Hold, "c1/s2/verdict", Verdict.NotProven), (made.Washer, made.CycleId, made.Station, made.Decision, made.Was, made.VerdictId, made.Verdict));
        Assert.Equal(new Act { By = "Q. Ass", Role = Role.Qa, Reason = "valve replaced", Means = Means.Page, Entered = Instant.Parse("2031-03-05T08:00:02Z") }, made.Act);
        Assert.Equal("north/decision/K-1/release/2031-03-05T08:00:02.000000Z", made.Id);
        Assert.Equal(2, _store.Historian.RecordHead!.Number);
    }

    [Fact]
    public void A_keg_on_hold_cannot_be_released_by_an_operator()
    {
        _store.Washed("K-1").Told(new ToldDecision("K-1", "hold", Reason: "valve leaks"), Operator);
        var refused = Assert.Throws<TellingException>(() => _store.Told(new ToldDecision("K-1", "release", Reason: "looks good"), Operator));
        Assert.True(refused.IsForbidden);
        Assert.Equal(1, _store.Historian.RecordHead!.Number);
    }

    [Fact]
    public void A_keg_that_was_never_washed_here_can_be_held_and_belongs_to_no_washer()
    {
        var made = Assert.IsType<KegDecided>(_store.Told(new ToldDecision("K-9", "hold", "T. Ester", "dented")));
        Assert.Equal((WashEvent.WholeSite, null, 0, null), (made.Washer, made.CycleId, made.Station, made.VerdictId));
        Assert.DoesNotContain(Telling.WashersOf(_store.Historian), w => w.Id == WashEvent.WholeSite);
    }

    [Fact]
    public void What_was_seen_on_an_old_page_is_not_decided()
    {
        _store.Washed("K-1").Washed("K-1", cycle: 2, Verdict.NotMet);
        var refused = Assert.Throws<TellingException>(() => _store.Told(new ToldDecision("K-1", "release", "T. Ester", Verdict: "c1/s2/verdict")));
        Assert.True(refused.IsConflict);
        Assert.StartsWith("verdict: found 'c1/s2/verdict', but the last one of K-1 is 'c2/s2/verdict'", refused.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(" ", "hold", "T. Ester", "x", "keg: found nothing; the keg's id is needed", false)]
    [InlineData("K-1", "burn", "T. Ester", "x", "decision: found 'burn'; allowed: hold, release, rewash", false)]
    [InlineData("K-1", "hold", null, "x", "by: found nothing; who did it must be named", false)]
    [InlineData("K-1", "hold", "T. Ester", null, "reason: found nothing; to hold a keg needs one", false)]
    [InlineData("K-1", "hold", "T. Ester", "a\nb", "reason: found 'a\nb'; it is one line", false)]
    [InlineData("K-2", "release", "T. Ester", "x", "K-2: found no washing of it that was judged", true)]
    public void What_cannot_be_taken_says_what_was_found_and_what_is_allowed(string keg, string decision, string? by, string? reason, string message, bool isConflict)
    {
        _store.Washed("K-1");
        var refused = Assert.Throws<TellingException>(() => _store.Told(new ToldDecision(keg, decision, by, reason)));
        Assert.StartsWith(message, refused.Message, StringComparison.Ordinal);
        Assert.Equal((isConflict, false), (refused.IsConflict, refused.IsForbidden));
        Assert.Null(_store.Historian.RecordHead);
    }

    [Fact]
    public void Of_two_who_release_the_same_keg_at_once_one_is_told_that_it_is_released()
    {
        _store.Washed("K-1");
        var outcomes = new System.Collections.Concurrent.ConcurrentBag<string>();
        Parallel.For(0, 8, i =>
        {
            try
            {
                outcomes.Add(_store.Desk.Take((historian, now) => Telling.Decision(new ToldDecision("K-1", "release", $"person {i}"), historian, now)).Id);
            }
            catch (TellingException refused)
            {
                outcomes.Add(refused.Message);
            }
        });
        Assert.Equal(7, outcomes.Count(o => o == "K-1 is released already"));
        Assert.Equal(1, _store.Historian.RecordHead!.Number);
    }

    [Fact]
    public void An_inspection_belongs_to_the_washing_before_it_and_bars_the_release_by_an_operator()
    {
        _store.Washed("K-1");
        var made = Assert.IsType<KegInspected>(_store.Told(new ToldInspection("K-1", "swab", "failed", "film on the wall", "T. Ester", 120, "{RLU}", "early")));
        Assert.Equal(("north", "c1", "early", InspectionKind.Swab, false, 120, "{RLU}"), (made.Washer, made.CycleId, made.Lot, made.Inspection, made.Passed, made.Value!.Value, made.Unit));
        Assert.True(Assert.Throws<TellingException>(() => _store.Told(new ToldDecision("K-1", "release", Reason: "x"), Operator)).IsForbidden);
        _store.Told(new ToldDecision("K-1", "release", Reason: "swab was mixed up"), Qa);
    }

    [Fact]
    public void An_inspection_that_was_told_late_belongs_to_the_washing_before_its_own_time()
    {
        _store.Washed("K-1");
        _store.Time.Advance(TimeSpan.FromHours(2));
        _store.Washed("K-1", cycle: 2);
        var made = Assert.IsType<KegInspected>(_store.Told(new ToldInspection("K-1", "spear-pull", "passed", "clean", "T. Ester", At: "2031-03-05T09:00:00Z")));
        Assert.Equal(("c1", Instant.Parse("2031-03-05T09:00:00Z"), Instant.Parse("2031-03-05T10:00:01Z")), (made.CycleId, made.At.Latest, made.Act.Entered));
    }

    [Theory]
    [InlineData("K-7", "swab", "passed", "clean", null, null, "keg: found 'K-7', of which nothing was ever scanned")]
    [InlineData("K-1", "sniff", "passed", "clean", null, null, "kind: found 'sniff'; allowed: spear-pull, swab")]
    [InlineData("K-1", "swab", "fine", "clean", null, null, "result: found 'fine'; allowed: passed, failed")]
    [InlineData("K-1", "swab", "passed", "", null, null, "found: found nothing; what was found must be told")]
    [InlineData("K-1", "swab", "passed", "clean", 3.0, null, "unit: found nothing beside a value")]
    [InlineData("K-1", "swab", "passed", "clean", null, "{RLU}", "value: found nothing beside the unit '{RLU}'")]
    [InlineData("K-1", "swab", "passed", "clean", double.NaN, "{RLU}", "value: found no finite number")]
    public void An_inspection_that_cannot_be_taken_says_why(string keg, string kind, string result, string found, double? value, string? unit, string message)
    {
        _store.Washed("K-1");
        Assert.StartsWith(message, Assert.Throws<TellingException>(() => _store.Told(new ToldInspection(keg, kind, result, found, "T. Ester", value, unit))).Message, StringComparison.Ordinal);
    }
}
