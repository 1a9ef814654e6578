using CsCheck;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using static WashBridge.Core.Alarms.AlarmState;

namespace WashBridge.Analysis.Tests.Alarms;

public sealed class AlarmFiguresTests
{
    private static readonly Instant From = Instant.Parse("2031-03-05T00:00:00Z");
    private static readonly Instant Until = From + TimeSpan.FromDays(2);

    [Fact]
    public void What_is_announced_is_counted_and_what_a_person_did_is_not()
    {
        var figures = Of(
            Change(-10, "old", Normal, Unacknowledged),
            Change(10, "a", Normal, Unacknowledged, AlarmPriority.High),
            Change(11, "a", Unacknowledged, Acknowledged, AlarmPriority.High),
            Change(12, "a", Acknowledged, Acknowledged, AlarmPriority.Low),
            Change(13, "a", Acknowledged, Unacknowledged, AlarmPriority.High),
            Change(14, "b", Normal, SuppressedByDesign),
            Change(15, "b", SuppressedByDesign, Unacknowledged, AlarmPriority.Low));
        Assert.Equal((3, 3 / 48.0, 1.5), (figures.Announced, figures.AnnouncedPerHour, figures.AnnouncedPerDay));
        Assert.Equal([1, 0, 2], [.. figures.ByPriority.OrderBy(p => p.Key).Select(p => p.Value)]);
        Assert.Equal([("a", 2), ("b", 1)], figures.MostFrequent.Select(f => (f.Name.Alarm, f.Count)));
        Assert.Equal(2 / 3.0, figures.Share(AlarmPriority.High));
        Assert.Equal(3, figures.Standing);
    }

    [Fact]
    public void What_has_stood_for_more_than_a_day_without_a_break_stands_long()
    {
        var end = (int)(Until - From).TotalMinutes;
        var figures = Of(
            Change(end - 1441, "long", Normal, Unacknowledged),
            Change(end - 1440, "day", Normal, Unacknowledged),
            Change(end - 2000, "broken", Normal, Unacknowledged),
            Change(end - 1999, "shelved", Normal, Unacknowledged),
            Change(end - 1998, "over", Normal, Unacknowledged),
            Change(end - 100, "broken", Unacknowledged, ReturnedUnacknowledged),
            Change(end - 99, "broken", ReturnedUnacknowledged, Unacknowledged),
            Change(end - 98, "shelved", Unacknowledged, Shelved),
            Change(end - 97, "over", Unacknowledged, ReturnedUnacknowledged),
            Change(end - 96, "long", Unacknowledged, Acknowledged));
        Assert.Equal(["long"], figures.StandingLong.Select(a => a.Alarm));
        Assert.Equal(3, figures.Standing);
    }

    [Fact]
    public void Eleven_in_ten_minutes_are_a_flood_until_the_first_of_them_is_ten_minutes_old()
    {
        // The eleventh comes at minute 5 and the flood ends at minute 10.
        var eleven = Enumerable.Range(0, 11).Select(i => Change(i * 0.5, $"a{i}", Normal, Unacknowledged)).ToArray();
        Assert.Equal(11, Of(eleven).MostInTenMinutes);
        Assert.Equal(5 / (48 * 60.0), Of(eleven).FloodShare, 12);
        Assert.Equal(0, Of(eleven[1..]).FloodShare);
        Assert.Equal(0, Of([.. Enumerable.Range(0, 11).Select(i => Change(i, $"a{i}", Normal, Unacknowledged))]).FloodShare);
    }

    /// <summary>Against counting at every second.</summary>
    [Fact]
    public void The_share_of_time_in_flood_is_that_of_a_count_at_every_moment() => Gen.Int[0, 7199].Array[0, 60].Sample(seconds =>
    {
        var until = From + TimeSpan.FromHours(2);
        var changes = seconds.Order().Select(s => Change(TimeSpan.FromSeconds(s), "a", Normal, Unacknowledged)).ToList();
        var flooded = Enumerable.Range(0, 7200).Count(now => seconds.Count(s => s <= now && s > now - 600) > 10);
        Assert.Equal(flooded / 7200.0, AlarmFigures.Of(changes, From, until).FloodShare, 9);
    }, iter: 50);

    [Fact]
    public void Three_times_within_a_minute_chatter()
    {
        Assert.Equal(["a"], Of([.. At("a", 1, 1.5, 2), .. At("b", 1, 1.5, 2.1), .. At("c", 1, 5, 9)]).Chattering.Select(a => a.Alarm));
    }

    [Fact]
    public void Each_figure_stands_beside_what_is_recommended()
    {
        var calm = Of(Change(1, "a", Normal, Unacknowledged, AlarmPriority.Low));
        Assert.Equal(1, calm.MostFrequentShare);
        Assert.All(calm.Compared, f => Assert.True(f.IsWithin, f.Title));
        var noisy = Of([.. Enumerable.Range(0, 700).SelectMany(i => At($"a{i % 5}", i * 0.1))]);
        Assert.Equal(
            ["announced a day", "announced an hour", "most in ten minutes", "share of time in flood", "standing for more than 24 h", "chattering", "share of the ten most frequent", "share of high priority"],
            noisy.Compared.Where(f => !f.IsWithin).Select(f => f.Title));
        Assert.All(Of().Compared, f => Assert.True(f.IsWithin));
    }

    [Fact]
    public void A_period_without_length_is_refused() => Assert.Throws<ArgumentException>(() => AlarmFigures.Of([], From, From));

    private static AlarmFigures Of(params AlarmChanged[] changes) => AlarmFigures.Of(changes, From, Until);

    private static IEnumerable<AlarmChanged> At(string alarm, params double[] minutes) => minutes.Select(m => Change(m, alarm, Normal, Unacknowledged, AlarmPriority.High));

    private static AlarmChanged Change(double minutes, string alarm, AlarmState from, AlarmState to, AlarmPriority priority = AlarmPriority.Medium) =>
        Change(TimeSpan.FromMinutes(minutes), alarm, from, to, priority);

    private static AlarmChanged Change(TimeSpan after, string alarm, AlarmState from, AlarmState to, AlarmPriority priority = AlarmPriority.Medium) => new()
    {
        Id = $"{alarm}/{after}",
        Washer = "w1",
        At = TimeBounds.At(From + after),
        Alarm = alarm,
        From = from,
        To = to,
        Priority = priority,
        Text = new AlarmText { What = "", Kegs = "", LookAt = "" },
    };
}
