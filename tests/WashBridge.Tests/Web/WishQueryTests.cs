using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Primitives;
using WashBridge.Core.Time;
using WashBridge.Reporting;
using WashBridge.Web.Pages.Reports;

namespace WashBridge.Tests.Web;

public sealed class WishQueryTests
{
    private static readonly DateTimeOffset Now = new(2031, 3, 5, 12, 0, 0, TimeSpan.Zero);
    private static readonly TimeZoneInfo Vienna = TimeZoneInfo.FindSystemTimeZoneById("Europe/Vienna");

    [Fact]
    public void A_certificate_is_asked_for_by_keg_and_washing()
    {
        var wish = Read(("about", "certificate"), ("keg", " K-0042 "), ("cycle", ""));

        Assert.Equal((ReportKind.Certificate, "K-0042", null), (wish.Kind, wish.Keg, wish.Cycle));
    }

    [Fact]
    public void A_lot_is_a_period_in_the_sites_zone()
    {
        var wish = Read(("about", "lot"), ("washer", "north"), ("from", "2031-03-05T06:00"), ("until", "2031-03-05T14:00"));

        Assert.Equal("north", wish.Washer);
        Assert.Equal(Instant.Parse("2031-03-05T05:00:00Z"), wish.From);
        Assert.Equal(Instant.Parse("2031-03-05T13:00:00Z"), wish.Until);
    }

    [Fact]
    public void A_shift_and_a_month_are_asked_for_by_their_dates()
    {
        var shift = Read(("about", "shift"), ("day", "2031-03-05"), ("begins", "22:00"));
        var month = Read(("about", "month"), ("month", "2031-02"));

        Assert.Equal((new DateOnly(2031, 3, 5), new TimeOnly(22, 0)), (shift.Day!.Value, shift.Begins!.Value));
        Assert.Equal(new DateOnly(2031, 2, 1), month.Month);
    }

    [Theory]
    [InlineData("shift", "day", "yesterday")]
    [InlineData("shift", "begins", "6 o'clock")]
    [InlineData("month", "month", "2031-13")]
    [InlineData("lot", "from", "whenever")]
    [InlineData("lot", "span", "99d")]
    public void What_cannot_be_read_is_told_with_what_is_allowed(string about, string field, string text)
    {
        var wrong = Assert.Throws<ReportWishException>(() => Read(("about", about), (field, text)));

        Assert.Contains($"found {text}", wrong.Message);
        Assert.Contains("allowed: ", wrong.Message);
    }

    [Fact]
    public void What_a_kind_does_not_take_is_not_given_on()
    {
        var wish = Read(("about", "outlook"), ("keg", "K-0042"), ("setpoint", "sanitise.hold"), ("day", "nonsense"));

        Assert.Equal(new ReportWish(ReportKind.Outlook) { Kegs = wish.Kegs }, wish);
    }

    [Fact]
    public void Every_report_can_be_chosen_and_is_shown_as_a_form_until_it_is_told_enough()
    {
        Assert.All(ReportDesk.Kinds, kind => Assert.Equal(kind, WishQuery.Kind(WishQuery.Word(kind))));
        Assert.All(ReportDesk.Kinds, kind => Assert.False(WishQuery.IsComplete(Query(), kind)));
        Assert.True(WishQuery.IsComplete(Query(("keg", "K")), ReportKind.Certificate));
        Assert.True(WishQuery.IsComplete(Query(("setpoint", "sanitise.hold")), ReportKind.Deviation));
    }

    private static ReportWish Read(params (string Field, string Value)[] fields) => WishQuery.Read(Query(fields), Vienna, Now);

    private static QueryCollection Query(params (string Field, string Value)[] fields) => new(fields.ToDictionary(f => f.Field, f => new StringValues(f.Value)));
}
