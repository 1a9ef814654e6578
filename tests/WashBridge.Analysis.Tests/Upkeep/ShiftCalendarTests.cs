using CsCheck;
using WashBridge.Analysis.Upkeep;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class ShiftCalendarTests
{
    /// <summary>An hour before UTC in winter, two in summer, from the last Sunday of March to that of October, at one o'clock UTC: the rule of the European Union.</summary>
    private static readonly TimeZoneInfo Zone = TimeZoneInfo.CreateCustomTimeZone(
        "test",
        TimeSpan.FromHours(1),
        "test",
        "winter",
        "summer",
        [
            TimeZoneInfo.AdjustmentRule.CreateAdjustmentRule(
                DateTime.MinValue.Date,
                DateTime.MaxValue.Date,
                TimeSpan.FromHours(1),
                TimeZoneInfo.TransitionTime.CreateFloatingDateRule(new DateTime(1, 1, 1, 2, 0, 0), 3, 5, DayOfWeek.Sunday),
                TimeZoneInfo.TransitionTime.CreateFloatingDateRule(new DateTime(1, 1, 1, 3, 0, 0), 10, 5, DayOfWeek.Sunday)),
        ]);

    private static readonly DayOfWeek[] Workdays = [DayOfWeek.Monday, DayOfWeek.Tuesday, DayOfWeek.Wednesday, DayOfWeek.Thursday, DayOfWeek.Friday];

    private static readonly ShiftPattern Days = new([new(Workdays, new TimeOnly(6, 0), TimeSpan.FromHours(8))], new HashSet<DateOnly> { new(2031, 5, 1) }, Zone);

    // Thursday, 1 May 2031 is closed; 5 March is a Wednesday.
    [Theory]
    [InlineData("2031-03-05T05:00:00Z", "2031-03-05T13:00:00Z", 8)]
    [InlineData("2031-03-05T04:00:00Z", "2031-03-06T06:00:00Z", 9)]
    [InlineData("2031-03-07T12:00:00Z", "2031-03-10T06:00:00Z", 2)]
    [InlineData("2031-04-30T04:00:00Z", "2031-05-02T12:00:00Z", 16)]
    [InlineData("2031-03-05T13:00:00Z", "2031-03-05T05:00:00Z", 0)]
    public void Working_time_is_that_of_the_shifts(string from, string to, double hours) =>
        Assert.Equal(TimeSpan.FromHours(hours), new ShiftCalendar(Days).Worked(Instant.Parse(from), Instant.Parse(to)));

    [Fact]
    public void Summer_time_moves_the_shift_and_not_its_length()
    {
        // 28 March is a Friday of winter time, 31 March a Monday of summer time.
        var calendar = new ShiftCalendar(Days);
        Assert.Equal(Instant.Parse("2031-03-31T05:00:00Z"), calendar.After(Instant.Parse("2031-03-28T05:00:00Z"), TimeSpan.FromHours(9)));
    }

    [Fact]
    public void A_shift_over_the_night_in_which_the_clock_is_set_is_as_long_as_the_clock_was_not_set()
    {
        // From ten in the evening for eight hours by the clock: an hour fewer in spring.
        var nights = new ShiftPattern([new([DayOfWeek.Saturday], new TimeOnly(22, 0), TimeSpan.FromHours(8))], new HashSet<DateOnly>(), Zone);
        Assert.Equal(TimeSpan.FromHours(7), new ShiftCalendar(nights).Worked(Instant.Parse("2031-03-29T12:00:00Z"), Instant.Parse("2031-03-30T12:00:00Z")));
        Assert.Equal(TimeSpan.FromHours(9), new ShiftCalendar(nights).Worked(Instant.Parse("2031-10-25T12:00:00Z"), Instant.Parse("2031-10-26T12:00:00Z")));
    }

    [Fact]
    public void Without_shifts_the_clock_counts()
    {
        var calendar = new ShiftCalendar(ShiftPattern.Always);
        Assert.Equal(Instant.Parse("2031-03-06T05:00:00Z"), calendar.After(Instant.Parse("2031-03-05T05:00:00Z"), TimeSpan.FromHours(24)));
    }

    [Fact]
    public void Shifts_that_overlap_count_once()
    {
        var both = Days with { Shifts = [.. Days.Shifts, new([DayOfWeek.Wednesday], new TimeOnly(10, 0), TimeSpan.FromHours(8))] };
        Assert.Equal(TimeSpan.FromHours(12), new ShiftCalendar(both).Worked(Instant.Parse("2031-03-05T00:00:00Z"), Instant.Parse("2031-03-06T00:00:00Z")));
    }

    [Fact]
    public void There_and_back_is_the_same() =>
        Gen.Select(Gen.Int[0, 500_000], Gen.Int[1, 60_000]).Sample((begin, minutes) =>
        {
            var calendar = new ShiftCalendar(Days);
            var from = Instant.Parse("2031-01-01T00:00:00Z") + TimeSpan.FromMinutes(begin);
            var to = calendar.After(from, TimeSpan.FromMinutes(minutes));
            Assert.Equal(TimeSpan.FromMinutes(minutes), calendar.Worked(from, to!.Value));
        });

    [Fact]
    public void What_is_years_away_has_no_date() =>
        Assert.Null(new ShiftCalendar(Days).After(Instant.Parse("2031-03-05T05:00:00Z"), TimeSpan.FromHours(20_000)));

    [Fact]
    public void A_shift_without_length_is_refused()
    {
        var error = Assert.Throws<ArgumentException>(() => new ShiftCalendar(Days with { Shifts = [new(Workdays, new TimeOnly(6, 0), TimeSpan.Zero)] }));
        Assert.Contains("at most 24 h", error.Message);
    }
}
