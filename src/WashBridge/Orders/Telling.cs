using System.Collections.Immutable;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;

namespace WashBridge.Orders;

/// <summary>Turns what people tell into events, or says what is wrong with it. The service and the commands take the same.</summary>
internal static partial class Telling
{
    public static readonly ImmutableArray<string> Works = ["replaced", "restored", "inspected"];
    public static readonly ImmutableArray<string> Orders = ["acknowledge", "shelve", "unshelve", "out-of-service", "return"];

    public static IReadOnlyList<KnownWasher> WashersOf(Site site) => [.. site.Washers.Select(w => new KnownWasher(w.Model.Washer, w.Model.Stations))];

    /// <summary>The washers of which a historian has signals.</summary>
    public static IReadOnlyList<KnownWasher> WashersOf(IHistorianReader historian) =>
        [.. historian.Signals.GroupBy(s => s.Washer).OrderBy(w => w.Key, StringComparer.Ordinal).Select(w => new KnownWasher(w.Key, Math.Max(1, w.Max(s => s.Station))))];

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static MaintenanceRecorded Maintenance(ToldMaintenance told, IReadOnlyList<KnownWasher> washers, DateTimeOffset now, Teller? teller = null)
    {
        var washer = TellingChecks.Washer(told.Washer, washers);
        var component = ComponentOf(told.Component, washer);
        var work = TellingChecks.OneOf("work", told.Work, Works);
        teller?.Require(Role.Operator, "recording work on a component");
        var at = TellingChecks.At(told.At, now);
        return new MaintenanceRecorded
        {
            Id = $"{washer.Id}/maintenance/{component.Key}/{at.Latest}",
            Washer = washer.Id,
            At = at,
            Component = component,
            Work = (MaintenanceKind)work,
            By = TellingChecks.By(told.By, teller),
            Note = TellingChecks.Note("note", told.Note),
            HadFailed = told.HadFailed,
            Entered = TellingChecks.Entered(now, teller),
        };
    }

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static AlarmOrdered Order(ToldOrder told, IReadOnlyList<KnownWasher> washers, AlarmBoard board, DateTimeOffset now, Teller? teller = null)
    {
        var washer = TellingChecks.Washer(told.Washer, washers);
        var kind = TellingChecks.OneOf("order", told.Order, Orders);
        teller?.Require(Role.Operator, "an order about an alarm");
        var at = TellingChecks.Now(now);
        var order = new AlarmOrder(told.Alarm?.Trim() ?? "", (AlarmOrderKind)kind, (teller?.Name ?? told.By)?.Trim() ?? "", told.Reason?.Trim() ?? "", told.Until is null ? null : TellingChecks.Time("until", told.Until));
        if (AlarmOrders.Problem(order, at.Earliest) is { } problem)
        {
            throw new TellingException(problem);
        }

        if (AlarmOrders.Problem(order, board.StateOf(washer.Id, order.Alarm)) is { } conflict)
        {
            var known = board.All.Where(a => a.Washer == washer.Id).Select(a => a.Alarm).ToList();
            throw new TellingException(board.StateOf(washer.Id, order.Alarm) is null ? $"{conflict}; it has {(known.Count == 0 ? "none" : string.Join(", ", known))}" : conflict, isConflict: true);
        }

        return new AlarmOrdered { Id = $"{washer.Id}/order/{order.Alarm}/{told.Order}/{at.Latest}", Washer = washer.Id, At = at, Order = order, Entered = TellingChecks.Entered(now, teller) };
    }

    private static Component ComponentOf(string? key, KnownWasher washer)
    {
        try
        {
            var component = Component.Parse(key ?? "");
            return component.Station <= washer.Stations
                ? component
                : throw new TellingException($"component: found {TellingChecks.Found(key)}; {washer.Id} has stations 1 to {washer.Stations}");
        }
        catch (FormatException unknown)
        {
            throw new TellingException("component: " + unknown.Message);
        }
    }
}
