using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests.Alarms;

public sealed class AlarmOrderTests
{
    private static readonly Instant Now = Instant.Parse("2031-03-05T08:00:00Z");

    public static TheoryData<AlarmOrder, string> Bad() => new()
    {
        { new AlarmOrder("", AlarmOrderKind.Acknowledge, "T. Ester"), "alarm: found nothing" },
        { new AlarmOrder("a", AlarmOrderKind.Acknowledge, ""), "by: found nothing" },
        { new AlarmOrder("a", AlarmOrderKind.Unshelve, " "), "by: found nothing" },
        { new AlarmOrder("a", AlarmOrderKind.Acknowledge, new string('x', 65)), "by: found 'xxxx" },
        { new AlarmOrder("a", AlarmOrderKind.Acknowledge, "a\nb"), "without control characters" },
        { new AlarmOrder("a", AlarmOrderKind.TakeOutOfService, "T. Ester"), "reason: found nothing" },
        { new AlarmOrder("a", AlarmOrderKind.Shelve, "T. Ester", "", Now + TimeSpan.FromHours(1)), "reason: found nothing" },
        { new AlarmOrder("a", AlarmOrderKind.Shelve, "T. Ester", "part"), "until: found nothing; shelving needs an end" },
        { new AlarmOrder("a", AlarmOrderKind.Shelve, "T. Ester", "part", Now), "must lie after the order" },
        { new AlarmOrder("a", AlarmOrderKind.Shelve, "T. Ester", "part", Now + TimeSpan.FromDays(8)), "at most 7 days" },
        { new AlarmOrder("a", AlarmOrderKind.Acknowledge, "T. Ester", "", Now + TimeSpan.FromDays(1)), "only shelving has an end" },
        { new AlarmOrder("a", AlarmOrderKind.Acknowledge, "T. Ester", new string('x', 501)), "reason: needs at most 500" },
    };

    [Theory]
    [MemberData(nameof(Bad))]
    public void An_order_that_lacks_something_says_what(AlarmOrder order, string problem) => Assert.Contains(problem, AlarmOrders.Problem(order, Now), StringComparison.Ordinal);

    [Fact]
    public void A_complete_order_is_taken()
    {
        Assert.Null(AlarmOrders.Problem(new AlarmOrder("a", AlarmOrderKind.Shelve, "T. Ester", "part", Now + TimeSpan.FromDays(7)), Now));
        Assert.Null(AlarmOrders.Problem(new AlarmOrder("a", AlarmOrderKind.Acknowledge, "T. Ester"), Now));
    }

    [Theory]
    [InlineData(AlarmOrderKind.Acknowledge, "NASDO")]
    [InlineData(AlarmOrderKind.Shelve, "DO")]
    [InlineData(AlarmOrderKind.Unshelve, "NUARDO")]
    [InlineData(AlarmOrderKind.TakeOutOfService, "O")]
    [InlineData(AlarmOrderKind.ReturnToService, "NUARSD")]
    public void An_order_that_does_nothing_in_a_state_says_so(AlarmOrderKind kind, string states)
    {
        var order = new AlarmOrder("a", kind, "T. Ester");
        var refused = Enum.GetValues<AlarmState>().Where(s => AlarmOrders.Problem(order, s) is not null);
        Assert.Equal(states, string.Concat(refused.Select(AlarmLifeCycleTests.Letter)));
    }

    [Fact]
    public void What_cannot_be_followed_is_kept_as_refused()
    {
        var book = new AlarmBook();
        var events = new AlarmEvents();
        var ordered = events.Order("a", AlarmOrderKind.Acknowledge);
        var refused = Assert.IsType<AlarmOrderRefused>(Assert.Single(book.Order(ordered)));
        Assert.Equal((ordered.Id + "/refused", ordered.Order), (refused.Id, refused.Order));
        Assert.Equal("alarm: found 'a'; this washer has had no such alarm", refused.Problem);
        book.Report(events.Passed(), AlarmEvents.Report("a", holds: true));
        Assert.Equal("refused: a is unacknowledged; only what is shelved can be unshelved", AlarmEvents.Line(book.Order(events.Order("a", AlarmOrderKind.Unshelve))));
        Assert.Equal(AlarmState.Unacknowledged, book.StateOf("a"));
    }
}
