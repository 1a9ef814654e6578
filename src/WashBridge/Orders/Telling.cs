using System.Collections.Immutable;
using System.Globalization;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;

namespace WashBridge.Orders;

/// <summary>Turns what people tell into events, or says what is wrong with it. The service and the commands take the same.</summary>
internal static class Telling
{
    public static readonly ImmutableArray<string> Works = ["replaced", "restored", "inspected"];
    public static readonly ImmutableArray<string> Orders = ["acknowledge", "shelve", "unshelve", "out-of-service", "return"];

    private const int LongestName = 64;
    private const int LongestNote = 500;
    private static readonly TimeSpan LongestAgo = TimeSpan.FromDays(366);

    public static IReadOnlyList<KnownWasher> WashersOf(Site site) => [.. site.Washers.Select(w => new KnownWasher(w.Model.Washer, w.Model.Stations))];

    /// <summary>The washers of which a historian has signals.</summary>
    public static IReadOnlyList<KnownWasher> WashersOf(IHistorianReader historian) =>
        [.. historian.Signals.GroupBy(s => s.Washer).OrderBy(w => w.Key, StringComparer.Ordinal).Select(w => new KnownWasher(w.Key, Math.Max(1, w.Max(s => s.Station))))];

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static MaintenanceRecorded Maintenance(ToldMaintenance told, IReadOnlyList<KnownWasher> washers, DateTimeOffset now)
    {
        var washer = Washer(told.Washer, washers);
        var component = ComponentOf(told.Component, washer);
        var work = Works.IndexOf(told.Work ?? "");
        if (work < 0)
        {
            throw new TellingException($"work: found {Found(told.Work)}; allowed: {string.Join(", ", Works)}");
        }

        var at = told.At is null ? new TimeBounds(Instant.Floor(now), Instant.Ceiling(now)) : Past(told.At, now);
        return new MaintenanceRecorded
        {
            Id = $"{washer.Id}/maintenance/{component.Key}/{at.Latest}",
            Washer = washer.Id,
            At = at,
            Component = component,
            Work = (MaintenanceKind)work,
            By = Text("by", told.By, LongestName, "who did it must be named"),
            Note = string.IsNullOrEmpty(told.Note) ? "" : Text("note", told.Note, LongestNote, "a note is one line"),
            HadFailed = told.HadFailed,
        };
    }

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static AlarmOrdered Order(ToldOrder told, IReadOnlyList<KnownWasher> washers, AlarmBoard board, DateTimeOffset now)
    {
        var washer = Washer(told.Washer, washers);
        var kind = Orders.IndexOf(told.Order ?? "");
        if (kind < 0)
        {
            throw new TellingException($"order: found {Found(told.Order)}; allowed: {string.Join(", ", Orders)}");
        }

        var at = new TimeBounds(Instant.Floor(now), Instant.Ceiling(now));
        var order = new AlarmOrder(told.Alarm?.Trim() ?? "", (AlarmOrderKind)kind, told.By?.Trim() ?? "", told.Reason?.Trim() ?? "", told.Until is null ? null : Time("until", told.Until));
        if (AlarmOrders.Problem(order, at.Earliest) is { } problem)
        {
            throw new TellingException(problem);
        }

        if (AlarmOrders.Problem(order, board.StateOf(washer.Id, order.Alarm)) is { } conflict)
        {
            var known = board.All.Where(a => a.Washer == washer.Id).Select(a => a.Alarm).ToList();
            throw new TellingException(board.StateOf(washer.Id, order.Alarm) is null ? $"{conflict}; it has {(known.Count == 0 ? "none" : string.Join(", ", known))}" : conflict, isConflict: true);
        }

        return new AlarmOrdered { Id = $"{washer.Id}/order/{order.Alarm}/{told.Order}/{at.Latest}", Washer = washer.Id, At = at, Order = order };
    }

    private static KnownWasher Washer(string? id, IReadOnlyList<KnownWasher> washers) =>
        id is null && washers.Count == 1 ? washers[0]
        : washers.FirstOrDefault(w => w.Id == id) ?? throw new TellingException($"washer: found {Found(id)}; there {(washers.Count == 1 ? "is" : "are")} {(washers.Count == 0 ? "none" : string.Join(", ", washers.Select(w => w.Id)))}");

    private static Component ComponentOf(string? key, KnownWasher washer)
    {
        try
        {
            var component = Component.Parse(key ?? "");
            return component.Station <= washer.Stations
                ? component
                : throw new TellingException($"component: found {Found(key)}; {washer.Id} has stations 1 to {washer.Stations}");
        }
        catch (FormatException unknown)
        {
            throw new TellingException("component: " + unknown.Message);
        }
    }

    private static TimeBounds Past(string text, DateTimeOffset now)
    {
        var at = Time("at", text);
        return at <= Instant.Ceiling(now) && Instant.Floor(now) - at <= LongestAgo
            ? TimeBounds.At(at)
            : throw new TellingException($"at: found {at}; allowed: from {Instant.Floor(now - LongestAgo)} to now");
    }

    /// <summary>A time without a zone means another moment to everybody who reads it.</summary>
    private static Instant Time(string field, string text) =>
        DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var time) && (text.EndsWith('Z') || HasOffset(text))
            ? Instant.Floor(time)
            : throw new TellingException($"{field}: found {Found(text)}; allowed: an instant with its zone, like 2031-03-05T14:00:00+01:00");

    private static bool HasOffset(string text) => text.LastIndexOfAny(['+', '-']) is var sign && sign > text.IndexOf('T', StringComparison.Ordinal) && text.Contains('T', StringComparison.Ordinal);

    private static string Text(string field, string? text, int most, string rule) =>
        !string.IsNullOrWhiteSpace(text) && text.Length <= most && !text.Any(char.IsControl)
            ? text.Trim()
            : throw new TellingException($"{field}: found {Found(text)}; {rule}, in 1 to {most} characters without control characters");

    private static string Found(string? text) => string.IsNullOrWhiteSpace(text) ? "nothing" : $"'{(text.Length > LongestName ? text[..LongestName] + "..." : text)}'";
}
