using WashBridge.Core.Alarms;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Alarms;

/// <summary>What is wrong with an order about an alarm, in words for who gave it.</summary>
public static class AlarmOrders
{
    /// <summary>Nothing is out of sight for longer: what nobody wants to see is to be taken out of service, with a reason.</summary>
    public static readonly TimeSpan LongestShelving = TimeSpan.FromDays(7);

    private const int LongestName = 64;
    private const int LongestReason = 500;

    /// <summary>What is wrong with the order by itself, or null.</summary>
    /// <param name="at">When it is given.</param>
    public static string? Problem(AlarmOrder order, Instant at)
    {
        ArgumentNullException.ThrowIfNull(order);
        if (string.IsNullOrWhiteSpace(order.Alarm))
        {
            return "alarm: found nothing; the key of an alarm is needed, such as drain-valve@2";
        }

        if (!IsText(order.By, LongestName))
        {
            return $"by: found {Found(order.By)}; who gives the order must be named, in 1 to {LongestName} characters without control characters";
        }

        if (order.Kind is AlarmOrderKind.Shelve or AlarmOrderKind.TakeOutOfService && !IsText(order.Reason, LongestReason))
        {
            return $"reason: found {Found(order.Reason)}; it is needed to shelve and to take out of service, in 1 to {LongestReason} characters without control characters";
        }

        return order.Kind == AlarmOrderKind.Shelve ? EndProblem(order.Until, at) : OtherProblem(order);
    }

    /// <summary>Why the order does nothing to an alarm in this state, or null.</summary>
    public static string? Problem(AlarmOrder order, AlarmState? state)
    {
        ArgumentNullException.ThrowIfNull(order);
        if (state is not { } known)
        {
            return $"alarm: found {Found(order.Alarm)}; this washer has had no such alarm";
        }

        return AlarmLifeCycle.Path(known, InputOf(order.Kind), holds: true, isSuppressed: false).Count > 0
            ? null
            : $"{order.Alarm} is {Words(known)}; {Needs(order.Kind)}";
    }

    public static AlarmInput InputOf(AlarmOrderKind kind) => kind switch
    {
        AlarmOrderKind.Acknowledge => AlarmInput.Acknowledge,
        AlarmOrderKind.Shelve => AlarmInput.Shelve,
        AlarmOrderKind.Unshelve => AlarmInput.Unshelve,
        AlarmOrderKind.TakeOutOfService => AlarmInput.TakeOutOfService,
        AlarmOrderKind.ReturnToService => AlarmInput.ReturnToService,
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };

    /// <summary>A state for people, as in "it is shelved".</summary>
    public static string Words(AlarmState state) => state switch
    {
        AlarmState.Normal => "normal",
        AlarmState.Unacknowledged => "unacknowledged",
        AlarmState.Acknowledged => "acknowledged",
        AlarmState.ReturnedUnacknowledged => "over but unacknowledged",
        AlarmState.Shelved => "shelved",
        AlarmState.SuppressedByDesign => "suppressed by design",
        AlarmState.OutOfService => "out of service",
        _ => throw new ArgumentOutOfRangeException(nameof(state), state, null),
    };

    private static string? EndProblem(Instant? until, Instant at) => until switch
    {
        null => "until: found nothing; shelving needs an end",
        { } end when end <= at => $"until: found {end}; the end of shelving must lie after the order, {at}",
        { } end when end - at > LongestShelving => $"until: found {end}; an alarm is shelved for at most {LongestShelving.TotalDays:0} days, until {at + LongestShelving}; to leave it out for longer, take it out of service",
        _ => null,
    };

    private static string? OtherProblem(AlarmOrder order) => order switch
    {
        { Until: not null } => $"until: found {order.Until}; only shelving has an end",
        { Reason.Length: > 0 } when !IsText(order.Reason, LongestReason) => $"reason: needs at most {LongestReason} characters without control characters",
        _ => null,
    };

    private static string Needs(AlarmOrderKind kind) => kind switch
    {
        AlarmOrderKind.Acknowledge => "only what is unacknowledged can be acknowledged",
        AlarmOrderKind.Shelve => "what is suppressed or out of service cannot be shelved",
        AlarmOrderKind.Unshelve => "only what is shelved can be unshelved",
        AlarmOrderKind.TakeOutOfService => "nothing is left to do",
        _ => "only what is out of service can be returned",
    };

    private static bool IsText(string? text, int most) => !string.IsNullOrWhiteSpace(text) && text.Length <= most && !text.Any(char.IsControl);

    private static string Found(string? text) => string.IsNullOrWhiteSpace(text) ? "nothing" : $"'{(text.Length > LongestName ? text[..LongestName] + "..." : text)}'";
}
