using WashBridge.Core.Alarms;

namespace WashBridge.Analysis.Alarms;

/// <summary>What can move an alarm from one state to another.</summary>
public enum AlarmInput
{
    /// <summary>The condition holds, delays included.</summary>
    Arises = 0,

    /// <summary>The condition no longer holds, delays included.</summary>
    Ends = 1,

    /// <summary>The condition holds on and has become more urgent.</summary>
    Rises = 2,
    Acknowledge = 3,
    Shelve = 4,

    /// <summary>By a person, or because the stated end has come.</summary>
    Unshelve = 5,
    Suppress = 6,
    EndSuppression = 7,
    TakeOutOfService = 8,
    ReturnToService = 9,
}

/// <summary>
/// The life of an alarm as IEC 62682:2014 and ANSI/ISA-18.2-2016 draw it (the diagram from memory; the states are confirmed by OPC 10000-9, 4.8).
/// Shelved, suppressed and out of service are entered from the four other states only, and left for normal, or for unacknowledged where the condition
/// holds: what was acknowledged before must be looked at anew. From one of the three to another the way leads through normal, so that nothing is
/// announced on it. No alarm latches: there is nothing in a monitor that a person would have to reset; an alarm whose condition has gone stays until it
/// is acknowledged.
/// </summary>
public static class AlarmLifeCycle
{
    /// <summary>The states through which an input leads, the last one being where the alarm stays. Empty: the input changes nothing in this state.</summary>
    /// <param name="holds">The condition holds now, delays included.</param>
    /// <param name="isSuppressed">There is a reason to suppress the alarm by design.</param>
    public static IReadOnlyList<AlarmState> Path(AlarmState state, AlarmInput input, bool holds, bool isSuppressed) => (state, input) switch
    {
        (AlarmState.Normal or AlarmState.ReturnedUnacknowledged, AlarmInput.Arises) => [AlarmState.Unacknowledged],
        (AlarmState.Unacknowledged, AlarmInput.Ends) => [AlarmState.ReturnedUnacknowledged],
        (AlarmState.Acknowledged, AlarmInput.Ends) => [AlarmState.Normal],
        (AlarmState.Acknowledged, AlarmInput.Rises) => [AlarmState.Unacknowledged],

        (AlarmState.Unacknowledged, AlarmInput.Acknowledge) => [AlarmState.Acknowledged],
        (AlarmState.ReturnedUnacknowledged, AlarmInput.Acknowledge) => [AlarmState.Normal],

        (AlarmState.Shelved, AlarmInput.Shelve) => [AlarmState.Shelved],
        (AlarmState.Shelved, AlarmInput.Unshelve) => Back(holds, isSuppressed),
        (AlarmState.SuppressedByDesign, AlarmInput.EndSuppression) => Back(holds, isSuppressed: false),
        (AlarmState.OutOfService, AlarmInput.ReturnToService) => Back(holds, isSuppressed),
        (AlarmState.Shelved or AlarmState.SuppressedByDesign, AlarmInput.TakeOutOfService) => [AlarmState.Normal, AlarmState.OutOfService],

        (AlarmState.Shelved or AlarmState.SuppressedByDesign or AlarmState.OutOfService, _) => [],
        (_, AlarmInput.Shelve) => [AlarmState.Shelved],
        (_, AlarmInput.Suppress) => [AlarmState.SuppressedByDesign],
        (_, AlarmInput.TakeOutOfService) => [AlarmState.OutOfService],
        _ => [],
    };

    /// <summary>A person is told of it when it comes about.</summary>
    public static bool IsAnnounced(AlarmState from, AlarmState to) => to == AlarmState.Unacknowledged && from != AlarmState.Unacknowledged;

    /// <summary>It stands: its condition holds and it is neither shelved nor suppressed nor out of service.</summary>
    public static bool Stands(AlarmState state) => state is AlarmState.Unacknowledged or AlarmState.Acknowledged;

    private static AlarmState[] Back(bool holds, bool isSuppressed) => (holds, isSuppressed) switch
    {
        (true, true) => [AlarmState.Normal, AlarmState.SuppressedByDesign],
        (true, false) => [AlarmState.Unacknowledged],
        _ => [AlarmState.Normal],
    };
}
