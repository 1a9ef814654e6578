using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using static WashBridge.Analysis.Tests.Alarms.AlarmEvents;

namespace WashBridge.Analysis.Tests.Alarms;

public sealed class AlarmBookTests
{
    private readonly AlarmBook _book = new();
    private readonly AlarmEvents _events = new();

    [Fact]
    public void An_alarm_arises_is_acknowledged_and_ends()
    {
        Assert.Equal("a N-U", Tell("a", holds: true));
        Assert.Equal("", Tell("a", holds: true));
        Assert.Equal("a U-A", Order(AlarmOrderKind.Acknowledge));
        Assert.Equal("a A-N", Tell("a", holds: false));
    }

    [Fact]
    public void What_ended_unacknowledged_stays_until_somebody_acknowledges_it_or_it_arises_again()
    {
        Tell("a", holds: true);
        Assert.Equal("a U-R", Tell("a", holds: false));
        Assert.Equal("a R-U", Tell("a", holds: true));
        Tell("a", holds: false);
        Assert.Equal("a R-N", Order(AlarmOrderKind.Acknowledge));
    }

    [Fact]
    public void A_condition_that_never_held_is_no_alarm()
    {
        Assert.Equal("", Tell("a", holds: false));
        Assert.Null(_book.StateOf("a"));
        Assert.Empty(_book.Known);
    }

    [Fact]
    public void A_change_says_since_when_by_whom_and_why()
    {
        var raised = Assert.IsType<AlarmChanged>(Assert.Single(_book.Report(_events.Passed(), Report("a", holds: true) with { Since = Start })));
        Assert.Equal((Start, null, null), (raised.Since, raised.By, raised.Reason));
        var shelved = Assert.IsType<AlarmChanged>(Assert.Single(_book.Order(_events.Order("a", AlarmOrderKind.Shelve, "T. Ester", "part is ordered", TimeSpan.FromHours(8)))));
        Assert.Equal(("T. Ester", "part is ordered", _events.Now + TimeSpan.FromHours(8)), (shelved.By, shelved.Reason, shelved.Until));
        var ended = Assert.IsType<AlarmChanged>(Assert.Single(_book.Order(_events.Order("a", AlarmOrderKind.Unshelve))));
        Assert.Equal((Start, null), (ended.Since, ended.Until));
    }

    /// <summary>A cycle's end brings a drift and a forecast at once: the alarm arises and is suppressed at the same instant, and whoever sorts by time must not take the former for the last.</summary>
    [Fact]
    public void Changes_at_the_same_instant_say_which_came_first()
    {
        var (cause, same) = (_events.Passed(), _events.Passed());
        same = same with { At = cause.At };
        var changes = _book.Report(cause, Report("a", holds: true)).Concat(_book.Suppress(same, "a", "because")).Concat(_book.EndSuppression(same, "a", "because")).Concat(_book.Report(_events.Passed(), Report("a", holds: false)));
        Assert.Equal([("U", null), ("S", 1), ("U", 2), ("R", null)], changes.Cast<AlarmChanged>().Select(c => ($"{c.To}"[..1], c.Turn)));
    }

    [Fact]
    public void Shelving_ends_with_the_first_event_at_or_after_its_end()
    {
        Tell("a", holds: true);
        Assert.Equal("a U-S", Order(AlarmOrderKind.Shelve, "waiting for a part", TimeSpan.FromMinutes(2)));
        Assert.Equal("", Line(_book.Pass(_events.Passed(), isCycle: false)));
        Assert.Equal("a S-U", Line(_book.Pass(_events.Passed(), isCycle: false)));
    }

    [Fact]
    public void What_ended_while_it_was_shelved_is_normal_afterwards()
    {
        Tell("a", holds: true);
        Order(AlarmOrderKind.Acknowledge);
        Order(AlarmOrderKind.Shelve, "waiting for a part", TimeSpan.FromHours(1));
        Assert.Equal("", Tell("a", holds: false));
        Assert.Equal("a S-N", Order(AlarmOrderKind.Unshelve));
    }

    [Fact]
    public void Shelving_again_sets_another_end()
    {
        Tell("a", holds: true);
        Order(AlarmOrderKind.Shelve, "waiting for a part", TimeSpan.FromMinutes(2));
        Assert.Equal("a S-S", Order(AlarmOrderKind.Shelve, "it comes tomorrow", TimeSpan.FromDays(1)));
        Assert.Equal("", Line(_book.Pass(_events.Later(TimeSpan.FromHours(23)).Passed(), isCycle: false)));
        Assert.Equal("a S-U", Line(_book.Pass(_events.Later(TimeSpan.FromHours(1)).Passed(), isCycle: false)));
    }

    [Fact]
    public void Out_of_service_is_entered_from_everywhere_and_left_by_order_only()
    {
        Tell("a", holds: true);
        Order(AlarmOrderKind.Shelve, "waiting for a part", TimeSpan.FromMinutes(2));
        Assert.Equal("a S-N, a N-O", Order(AlarmOrderKind.TakeOutOfService, "sensor is dismounted"));
        Assert.Equal("", Line(_book.Pass(_events.Later(TimeSpan.FromDays(30)).Passed(), isCycle: true)));
        Assert.Equal("", Tell("a", holds: false));
        Assert.Equal("", Tell("a", holds: true));
        Assert.Equal("a O-U", Order(AlarmOrderKind.ReturnToService));
    }

    [Fact]
    public void An_on_delay_in_cycles_lets_pass_what_is_over_sooner()
    {
        var report = Report("a", holds: true, on: new AlarmDelay(Cycles: 3));
        Assert.Equal("", Line(_book.Report(_events.Cycle(), report)));
        Assert.Equal("", Line(_book.Pass(_events.Cycle(), isCycle: true)));
        Assert.Equal("", Line(_book.Report(_events.Passed(), report with { Holds = false })));
        Assert.Equal("", Line(_book.Report(_events.Passed(), report)));
        Assert.Equal("", Line(_book.Pass(_events.Cycle(), isCycle: true)));
        Assert.Equal("", Line(_book.Pass(_events.Cycle(), isCycle: true)));

        // The third cycle with all that is told in it: its own report, or the beginning of the next.
        Assert.Equal("a N-U", Line(_book.Report(_events.Passed(), report)));
    }

    [Fact]
    public void A_condition_that_is_told_once_arises_after_its_cycles()
    {
        _book.Report(_events.Cycle(), Report("a", holds: true, on: new AlarmDelay(Cycles: 2)));
        Assert.Equal("", Line(_book.Pass(_events.Cycle(), isCycle: true)));
        Assert.Equal("a N-U", Line(_book.Pass(_events.Cycle(), isCycle: true)));
    }

    [Fact]
    public void Delays_in_time_go_by_the_time_of_events()
    {
        var delay = new AlarmDelay(Time: TimeSpan.FromMinutes(5));
        Tell("a", holds: true, delay, delay);
        Assert.Equal("", Line(_book.Pass(_events.Later(TimeSpan.FromMinutes(3)).Passed(), isCycle: false)));
        Assert.Equal("a N-U", Line(_book.Pass(_events.Passed(), isCycle: false)));
        Assert.Equal("", Tell("a", holds: false, delay, delay));
        Assert.Equal("", Tell("a", holds: true, delay, delay));
        Assert.Equal("", Tell("a", holds: false, delay, delay));
        Assert.Equal("", Line(_book.Pass(_events.Later(TimeSpan.FromMinutes(3)).Passed(), isCycle: false)));
        Assert.Equal("a U-R", Line(_book.Pass(_events.Passed(), isCycle: false)));
    }

    [Fact]
    public void What_becomes_more_urgent_must_be_acknowledged_anew_and_what_becomes_less_so_not()
    {
        _book.Report(_events.Passed(), Report("a", holds: true, AlarmPriority.Medium));
        Order(AlarmOrderKind.Acknowledge);
        Assert.Equal("a A-U", Line(_book.Report(_events.Passed(), Report("a", holds: true, AlarmPriority.High))));
        Order(AlarmOrderKind.Acknowledge);
        Assert.Equal("a A-A", Line(_book.Report(_events.Passed(), Report("a", holds: true, AlarmPriority.Low))));
        Assert.Equal(AlarmPriority.Low, _book.PriorityOf("a"));
    }

    [Fact]
    public void A_suppressed_alarm_comes_back_when_the_last_reason_has_gone()
    {
        Tell("a", holds: true);
        Assert.Equal("a U-D", Line(_book.Suppress(_events.Passed(), "a", "one")));
        Assert.Equal("", Line(_book.Suppress(_events.Passed(), "a", "two")));
        Assert.Equal("", Line(_book.EndSuppression(_events.Passed(), "a", "one")));
        Assert.Equal("a D-U", Line(_book.EndSuppression(_events.Passed(), "a", "two")));
    }

    [Fact]
    public void A_shelved_alarm_with_a_reason_to_be_suppressed_goes_there_by_way_of_normal()
    {
        Tell("a", holds: true);
        Order(AlarmOrderKind.Shelve, "waiting for a part", TimeSpan.FromMinutes(2));
        Assert.Equal("", Line(_book.Suppress(_events.Passed(), "a", "one")));
        Assert.Equal("a S-N, a N-D", Order(AlarmOrderKind.Unshelve));
        Assert.Equal("", Tell("a", holds: false));
        Assert.Equal("a D-N", Line(_book.EndSuppression(_events.Passed(), "a", "one")));
    }

    [Fact]
    public void Nothing_measured_arises_anew_while_nothing_is_measured_and_what_stands_goes_on()
    {
        Tell("old", holds: true);
        _book.SuppressNew("lost");
        Assert.Equal("new N-D", Tell("new", holds: true));
        Assert.Equal("own N-U", Line(_book.Report(_events.Passed(), Report("own", holds: true) with { IsMeasured = false })));
        Assert.Equal("old U-R", Tell("old", holds: false));
        Assert.Equal("new D-U", Line(_book.EndSuppressNew(_events.Passed())));
        Assert.Equal("old R-U", Tell("old", holds: true));
    }

    [Theory]
    [InlineData(Worse.Lower, 500, 499, 599, 600)]
    [InlineData(Worse.Higher, 500, 501, 401, 400)]
    public void A_value_must_come_back_beyond_the_dead_band(Worse bad, double limit, double beyond, double within, double back)
    {
        var alarm = new AlarmLimit(limit, bad, 100);
        Assert.True(alarm.Holds(limit, held: false));
        Assert.True(alarm.Holds(beyond, held: false));
        Assert.False(alarm.Holds(within, held: false));
        Assert.True(alarm.Holds(within, held: true));
        Assert.False(alarm.Holds(back, held: true));
        Assert.True(alarm.Holds(double.NaN, held: true));
        Assert.False(alarm.Holds(double.NaN, held: false));
        Assert.True((alarm with { DeadBand = 0 }).Holds(limit, held: true));
        Assert.False((alarm with { DeadBand = 0 }).Holds(within, held: true));
    }

    private string Tell(string alarm, bool holds, AlarmDelay on = default, AlarmDelay off = default) => Line(_book.Report(_events.Passed(), Report(alarm, holds, on: on, off: off)));

    private string Order(AlarmOrderKind kind, string reason = "", TimeSpan? until = null) => Line(_book.Order(_events.Order("a", kind, "T. Ester", reason, until)));
}
