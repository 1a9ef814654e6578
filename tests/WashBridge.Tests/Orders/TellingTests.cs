using WashBridge.Analysing;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Orders;

namespace WashBridge.Tests.Orders;

public sealed class TellingTests
{
    private static readonly DateTimeOffset Now = new(2031, 3, 5, 8, 0, 0, TimeSpan.Zero);
    private static readonly IReadOnlyList<KnownWasher> Two = [new("north", 2), new("yard", 4)];
    private static readonly ToldMaintenance Work = new("north", "drain-valve@2", "replaced", "T. Ester");
    private static readonly ToldOrder Order = new("north", "drain-valve@2", "acknowledge", "T. Ester");

    [Fact]
    public void Work_on_a_component_becomes_an_event()
    {
        var made = Telling.Maintenance(Work with { Note = "seat worn", HadFailed = true }, Two, Now);
        Assert.Equal(("north", new Component(ComponentKind.DrainValve, Station: 2), MaintenanceKind.Replaced, "T. Ester", "seat worn", true), (made.Washer, made.Component, made.Work, made.By, made.Note, made.HadFailed));
        Assert.Equal("north/maintenance/drain-valve@2/2031-03-05T08:00:00.000000Z", made.Id);
        Assert.Equal(TimeBounds.At(Instant.Parse("2031-03-04T23:00:00Z")), Telling.Maintenance(Work with { At = "2031-03-05T00:00:00+01:00" }, Two, Now).At);
        Assert.Equal("yard", Telling.Maintenance(Work with { Washer = null }, [Two[1]], Now).Washer);
        Assert.Equal([MaintenanceKind.Replaced, MaintenanceKind.Restored, MaintenanceKind.Inspected], Telling.Works.Select(w => Telling.Maintenance(Work with { Work = w }, Two, Now).Work));
    }

    public static TheoryData<string, string> BadWork() => new()
    {
        { "washer", "washer: found 'south'; there are north, yard" },
        { "no washer", "washer: found nothing; there are north, yard" },
        { "component", "component: 'drain-pipe': no component. Allowed: drain-valve," },
        { "station", "component: found 'drain-valve@3'; north has stations 1 to 2" },
        { "work", "work: found 'mended'; allowed: replaced, restored, inspected" },
        { "by", "by: found nothing; who did it must be named" },
        { "note", "note: found 'a\nb'" },
        { "future", "at: found 2031-03-05T09:00:00.000000Z; allowed: from 2030-03-04" },
        { "zone", "at: found '2031-03-05T07:00:00'; allowed: an instant with its zone" },
    };

    [Theory]
    [MemberData(nameof(BadWork))]
    public void Work_that_cannot_be_taken_says_what_was_found_and_what_is_allowed(string what, string message)
    {
        var told = what switch
        {
            "washer" => Work with { Washer = "south" },
            "no washer" => Work with { Washer = null },
            "component" => Work with { Component = "drain-pipe" },
            "station" => Work with { Component = "drain-valve@3" },
            "work" => Work with { Work = "mended" },
            "by" => Work with { By = " " },
            "note" => Work with { Note = "a\nb" },
            "future" => Work with { At = "2031-03-05T09:00:00Z" },
            _ => Work with { At = "2031-03-05T07:00:00" },
        };
        Assert.StartsWith(message, Assert.Throws<TellingException>(() => Telling.Maintenance(told, Two, Now)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void An_order_becomes_an_event_where_it_fits_the_alarm()
    {
        var made = Telling.Order(Order with { Order = "shelve", Reason = "part is ordered", Until = "2031-03-06T06:00:00+01:00" }, Two, Board(AlarmState.Unacknowledged), Now);
        Assert.Equal(new AlarmOrder("drain-valve@2", AlarmOrderKind.Shelve, "T. Ester", "part is ordered", Instant.Parse("2031-03-06T05:00:00Z")), made.Order);
        Assert.Equal(AlarmOrderKind.Acknowledge, Telling.Order(Order, Two, Board(AlarmState.Unacknowledged), Now).Order.Kind);
        Assert.Equal(AlarmOrderKind.Unshelve, Telling.Order(Order with { Order = "unshelve" }, Two, Board(AlarmState.Shelved), Now).Order.Kind);
        Assert.Equal(AlarmOrderKind.TakeOutOfService, Telling.Order(Order with { Order = "out-of-service", Reason = "rebuilt" }, Two, Board(AlarmState.Normal), Now).Order.Kind);
        Assert.Equal(AlarmOrderKind.ReturnToService, Telling.Order(Order with { Order = "return" }, Two, Board(AlarmState.OutOfService), Now).Order.Kind);
    }

    [Fact]
    public void An_order_that_does_not_fit_is_refused_before_it_is_kept()
    {
        var conflict = Assert.Throws<TellingException>(() => Telling.Order(Order, Two, Board(AlarmState.Acknowledged), Now));
        Assert.Equal(("drain-valve@2 is acknowledged; only what is unacknowledged can be acknowledged", true), (conflict.Message, conflict.IsConflict));
        var unknown = Assert.Throws<TellingException>(() => Telling.Order(Order with { Alarm = "heater" }, Two, Board(AlarmState.Acknowledged), Now));
        Assert.Equal("alarm: found 'heater'; this washer has had no such alarm; it has drain-valve@2", unknown.Message);
        var bad = Assert.Throws<TellingException>(() => Telling.Order(Order with { Order = "shelve", Reason = "x" }, Two, Board(AlarmState.Acknowledged), Now));
        Assert.Equal(("until: found nothing; shelving needs an end", false), (bad.Message, bad.IsConflict));
        Assert.Equal("order: found 'silence'; allowed: acknowledge, shelve, unshelve, out-of-service, return", Assert.Throws<TellingException>(() => Telling.Order(Order with { Order = "silence" }, Two, Board(AlarmState.Normal), Now)).Message);
    }

    private static AlarmBoard Board(AlarmState state)
    {
        var board = new AlarmBoard();
        board.Take(new AlarmChanged
        {
            Id = "a", Washer = "north", At = default, Alarm = "drain-valve@2", From = AlarmState.Normal, To = state, Priority = AlarmPriority.Low, Text = new AlarmText { What = "", Kegs = "", LookAt = "" },
        });
        return board;
    }
}
