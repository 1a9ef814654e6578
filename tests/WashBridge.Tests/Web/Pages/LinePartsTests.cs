using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Orders;
using WashBridge.Web.Pages.Alarms;
using WashBridge.Web.Pages.Data;

namespace WashBridge.Tests.Web.Pages;

/// <summary>What the pages for the line are made from, without HTML.</summary>
public sealed class LinePartsTests
{
    private static readonly DateTimeOffset Now = new(2031, 3, 5, 8, 0, 0, TimeSpan.Zero);
    private static readonly Instant Begin = Instant.Floor(Now);
    private static readonly TimeZoneInfo Berlin = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");

    [Fact]
    public void The_end_of_shelving_is_told_in_hours_or_as_local_time()
    {
        Assert.Equal(Now.AddHours(4), DateTimeOffset.Parse(AlarmDesk.EndOf("4", "", Berlin, Now)!));
        Assert.Equal(new DateTimeOffset(2031, 3, 5, 14, 0, 0, TimeSpan.FromHours(1)), DateTimeOffset.Parse(AlarmDesk.EndOf("4", "2031-03-05T14:00", Berlin, Now)!));
        Assert.Null(AlarmDesk.EndOf(null, " ", Berlin, Now));

        // Shown twice when the clocks go back: the earlier of the two.
        Assert.Equal(TimeSpan.FromHours(2), DateTimeOffset.Parse(AlarmDesk.EndOf(null, "2031-10-26T02:30", Berlin, Now)!).Offset);
    }

    [Theory]
    [InlineData("5", "", "for: found '5'; allowed: 1, 4, 8, 24, 72, 168 hours")]
    [InlineData("-4", "", "for: found '-4'; allowed: 1, 4, 8, 24, 72, 168 hours")]
    [InlineData("4", "tomorrow", "until: found 'tomorrow'; allowed: a day and a time of Europe/Berlin, like 2031-03-05T14:00")]
    [InlineData("4", "2031-03-30T02:30", "until: found 2031-03-30 02:30; the clocks of Europe/Berlin skip it; allowed: a time before or after")]
    public void An_end_that_is_none_says_what_was_found_and_what_is_allowed(string hours, string until, string message) =>
        Assert.Equal(message, Assert.Throws<TellingException>(() => AlarmDesk.EndOf(hours, until, Berlin, Now)).Message);

    [Fact]
    public void The_life_of_an_alarm_is_told_backwards_with_orders_that_came_to_nothing()
    {
        var story = AlarmStory.Of(
        [
            Changed("1", AlarmState.Normal, AlarmState.Unacknowledged),
            Ordered("2"),
            Changed("2/alarm/x", AlarmState.Unacknowledged, AlarmState.Acknowledged) with { By = "T. Ester" },
            Ordered("3"),
            new AlarmOrderRefused { Id = "3/refused", Washer = "w", At = At(3), Order = Ordered("3").Order, Problem = "it is acknowledged" },
            Ordered("4"),
        ]);
        Assert.Equal([ChapterKind.Waiting, ChapterKind.Refused, ChapterKind.Changed, ChapterKind.Changed], story.Chapters.Select(c => c.Kind));
        Assert.Equal(["T. Ester", "T. Ester", "T. Ester", null], story.Chapters.Select(c => c.By));
        Assert.Equal(("it is acknowledged", AlarmState.Acknowledged, 0), (story.Chapters[1].Problem!, story.Now!.To, story.LeftOut));
    }

    [Fact]
    public void A_long_life_is_cut_and_says_so()
    {
        var story = AlarmStory.Of(Enumerable.Range(0, 310).Select(i => Changed($"{i}", AlarmState.Normal, AlarmState.Unacknowledged)));
        Assert.Equal((300, 10, "309"), (story.Chapters.Count, story.LeftOut, story.Chapters[0].Change!.Id));
    }

    [Fact]
    public void Gaps_are_paired_by_washer_and_group_and_one_that_lasts_stands_first()
    {
        var gaps = Gap.Of(
        [
            Lost("a", 0, 10, "no answer"), Lost("a", 1, 11, "no answer"), Restored("b", 0, 5, 20), Restored("a", 0, 10, 30), Lost("a", 0, 40, "refused"), Restored("a", 0, 40, 50),
        ]);
        Assert.Equal(
            [("a", 1, null, "no answer"), ("a", 0, At(50).Latest, "refused"), ("a", 0, At(30).Latest, "no answer"), ("b", 0, At(20).Latest, null)],
            gaps.Select(g => (g.Washer, g.Group, g.Until, g.Reason)));
        Assert.Equal(TimeSpan.FromSeconds(89), gaps[0].Length(At(100).Latest));
        Assert.Equal(TimeSpan.FromSeconds(20), gaps[2].Length(At(100).Latest));
    }

    [Fact]
    public void Growth_is_that_of_the_last_day_once_an_hour_was_seen_and_an_average_before()
    {
        var growth = new StoreGrowth();
        growth.Take(Begin, 1000);
        var first = Begin - TimeSpan.FromDays(2);
        Assert.Equal(new Growth(500, TimeSpan.FromDays(2), IsAverage: true), growth.BytesADay(Begin, 1000, first));
        Assert.Null(growth.BytesADay(Begin, 1000, null));
        Assert.Equal(new Growth(2400, TimeSpan.FromHours(2), IsAverage: false), growth.BytesADay(Begin + TimeSpan.FromHours(2), 1200, first));
        Assert.Equal(0, growth.BytesADay(Begin + TimeSpan.FromHours(2), 400, first)!.BytesADay);

        for (var i = 1; i <= 1000; i++)
        {
            growth.Take(Begin + TimeSpan.FromMinutes(10 * i), 1000 + i);
        }

        Assert.Equal(TimeSpan.FromDays(1), growth.BytesADay(Begin + TimeSpan.FromMinutes(10_000), 2000, first)!.Over);
    }

    [Fact]
    public void How_long_the_disk_lasts_is_not_guessed()
    {
        Assert.Equal(TimeSpan.FromDays(20), new StoreState("f", 1, 2000, new Growth(100, TimeSpan.FromHours(1), false)).Lasts);
        Assert.Null(new StoreState("f", 1, null, new Growth(100, TimeSpan.FromHours(1), false)).Lasts);
        Assert.Null(new StoreState("f", 1, 2000, new Growth(0, TimeSpan.FromHours(1), false)).Lasts);
        Assert.Null(new StoreState("f", 1, 2000, null).Lasts);
    }

    private static TimeBounds At(double seconds) => TimeBounds.At(Begin + TimeSpan.FromSeconds(seconds));

    private static SourceLost Lost(string washer, int group, double at, string reason) => new() { Id = $"{washer}{group}{at}l", Washer = washer, At = At(at), Group = group, Reason = reason };

    private static SourceRestored Restored(string washer, int group, double from, double at) =>
        new() { Id = $"{washer}{group}{at}r", Washer = washer, At = At(at), Group = group, Gap = new TimeBounds(At(from).Earliest, At(at).Latest) };

    private static AlarmOrdered Ordered(string id) => new() { Id = id, Washer = "w", At = At(2), Order = new AlarmOrder("x", AlarmOrderKind.Acknowledge, "T. Ester") };

    private static AlarmChanged Changed(string id, AlarmState from, AlarmState to) => new()
    {
        Id = id, Washer = "w", At = At(1), Alarm = "x", From = from, To = to, Priority = AlarmPriority.Low, Text = new AlarmText { What = "", Kegs = "", LookAt = "" },
    };
}
