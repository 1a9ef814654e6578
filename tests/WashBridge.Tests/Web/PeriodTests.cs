using WashBridge.Core.Time;
using WashBridge.Web;

namespace WashBridge.Tests.Web;

public sealed class PeriodTests
{
    private static readonly TimeZoneInfo Berlin = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");
    private static readonly DateTimeOffset Now = new(2031, 3, 5, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Without_times_it_ends_now() =>
        Assert.Equal((Instant.Parse("2031-03-05T04:00:00Z"), Instant.Floor(Now), "8h", null), Of(null, null, "8h"));

    [Fact]
    public void Local_times_are_those_of_the_site() =>
        Assert.Equal((Instant.Parse("2031-03-05T05:00:00Z"), Instant.Parse("2031-03-05T06:30:15Z"), null, null), Of("2031-03-05T06:00", "2031-03-05T07:30:15", null));

    [Fact]
    public void Times_with_a_zone_are_taken_as_they_are() =>
        Assert.Equal((Instant.Parse("2031-03-05T05:00:00Z"), Instant.Parse("2031-03-05T06:00:00Z"), null, null), Of("2031-03-05T05:00:00Z", "2031-03-05T01:00:00-05:00", null));

    [Fact]
    public void Of_an_hour_that_comes_twice_the_first_is_meant_and_one_that_never_comes_is_the_next_that_does()
    {
        Assert.Equal(Instant.Parse("2031-10-26T00:30:00Z"), Of("2031-10-26T02:30", "2031-10-27T00:00", null).From);
        Assert.Equal(Instant.Parse("2031-03-30T01:00:00Z"), Of("2031-03-30T02:30", "2031-03-31T00:00", null).From);
    }

    [Theory]
    [InlineData("yesterday", null, null, "yesterday")]
    [InlineData(null, "99999-01-01", null, "99999-01-01")]
    [InlineData("2031-03-05T06:00", "2031-03-05T05:00", null, "2031-03-05T06:00 – 2031-03-05T05:00")]
    [InlineData(null, null, "3 parsecs", "3 parsecs")]
    public void What_cannot_be_read_is_told_and_the_usual_period_shown(string? from, string? until, string? span, string problem) =>
        Assert.Equal((Instant.Parse("2031-03-05T11:00:00Z"), Instant.Floor(Now), "1h", problem), Of(from, until, span));

    [Fact]
    public void Its_address_gives_the_same_period_again()
    {
        var period = Period.Parse("2031-03-05T06:00:00.25Z", "2031-03-05T07:00Z", null, "1h", Berlin, Now);
        var query = Microsoft.AspNetCore.WebUtilities.QueryHelpers.ParseQuery(period.Query);
        Assert.Equal(period, Period.Parse(query["from"], query["until"], null, "1h", Berlin, Now));
    }

    private static (Instant From, Instant Until, string? Span, string? Problem) Of(string? from, string? until, string? span)
    {
        var period = Period.Parse(from, until, span, "1h", Berlin, Now);
        return (period.From, period.Until, period.Span, period.Problem);
    }
}
