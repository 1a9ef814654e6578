using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Tests.Kegs;

public sealed class KegFileTests
{
    [Fact]
    public void A_keg_of_which_nothing_is_known_has_no_verdict()
    {
        var file = new KegDays().File;
        Assert.Equal((KegStanding.NoVerdict, null, null), (file.Standing, file.LastWash, file.Decision));
        Assert.Empty(file.Entries);
    }

    [Fact]
    public void A_later_washing_opens_a_new_decision()
    {
        var days = new KegDays().Washed().Decided(KegDecision.Release);
        Assert.Equal(KegStanding.Released, days.File.Standing);
        var file = days.Washed(Verdict.NotMet).File;
        Assert.Equal((KegStanding.Undecided, null), (file.Standing, file.Decision));
        Assert.Equal([1, 0], file.Washes.Select(w => w.Decisions.Count));
        Assert.Equal(Verdict.NotMet, file.LastWash!.Verdict);
        Assert.Equal(KegStanding.Undecided, new KegDays().Washed(Verdict.NotMet).Decided(KegDecision.Rewash).Washed().File.Standing);
    }

    [Fact]
    public void A_hold_stands_through_washings_until_somebody_lifts_it()
    {
        var held = new KegDays().Washed().Decided(KegDecision.Hold).Washed().Washed();
        Assert.Equal((KegStanding.Held, KegDecision.Hold), (held.File.Standing, held.File.Decision!.Decision));
        Assert.Equal(KegStanding.Undecided, held.Decided(KegDecision.Release).Washed().File.Standing);
    }

    [Fact]
    public void Judging_again_adds_a_verdict_to_the_same_washing_and_opens_nothing()
    {
        var file = new KegDays().Washed().Decided(KegDecision.Release).JudgedAgain(Verdict.NotProven).File;
        Assert.Equal([Verdict.Met, Verdict.NotProven], Assert.Single(file.Washes).Verdicts.Select(v => v.Verdict.Verdict));
        Assert.Equal((KegStanding.Released, Verdict.NotProven), (file.Standing, file.LastWash!.Verdict));
    }

    [Fact]
    public void What_was_found_belongs_to_the_washing_before_it()
    {
        var file = new KegDays().Washed().Inspected(passed: false).Washed().Inspected(passed: true).File;
        Assert.Equal([true, false], file.Washes.Select(w => w.FailedInspection));
    }

    [Fact]
    public void A_correction_changes_what_holds_and_not_what_was_told()
    {
        var file = new KegDays().Washed().Inspected(passed: false).Corrected("passed", "true").File;
        Assert.False(file.LastWash!.FailedInspection);
        var entry = file.Entries[1];
        Assert.Equal((false, true), (((KegInspected)entry.Event).Passed, ((KegInspected)entry.Holds).Passed));
    }

    [Theory]
    [InlineData("passed", "7")]
    [InlineData("passed", null)]
    [InlineData("kegId", "not json")]
    public void A_correction_that_makes_no_sense_leaves_what_was_told(string field, string? value)
    {
        var file = new KegDays().Washed().Inspected(passed: false).Corrected(field, value).File;
        Assert.True(file.LastWash!.FailedInspection);
        Assert.Null(file.Entries[1].Corrected);
    }

    [Fact]
    public void What_was_corrected_to_be_of_another_keg_counts_for_that_one_only()
    {
        Assert.Empty(new KegDays().Washed().Inspected(passed: false).Corrected("kegId", "\"K-2\"").File.LastWash!.Inspections);
        Assert.Single(new KegDays().Washed().Inspected(passed: false, keg: "K-2").Corrected("kegId", "\"K-1\"").File.LastWash!.Inspections);
        Assert.Empty(new KegDays().Washed(keg: "K-2").File.Washes);
    }
}
