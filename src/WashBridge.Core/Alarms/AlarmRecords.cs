using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Core.Alarms;

/// <summary>Alarm states of IEC 62682 / ISA-18.2.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<AlarmState>))]
public enum AlarmState
{
    Normal = 0,
    Unacknowledged = 1,
    Acknowledged = 2,
    ReturnedUnacknowledged = 3,
    Shelved = 4,
    SuppressedByDesign = 5,
    OutOfService = 6,
}

/// <summary>How soon a person must act.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<AlarmPriority>))]
public enum AlarmPriority
{
    Low = 0,
    Medium = 1,
    High = 2,
}

/// <summary>What an alarm says: for a person who stands at the machine.</summary>
public sealed record AlarmText
{
    /// <summary>What is wrong and where, in one line.</summary>
    public required string What { get; init; }

    /// <summary>What it means for the kegs.</summary>
    public required string Kegs { get; init; }

    /// <summary>What to look at first.</summary>
    public required string LookAt { get; init; }

    /// <summary>What can hurt; empty where nobody need touch the machine.</summary>
    public string Caution { get; init; } = "";
}

/// <summary>What a person orders about an alarm.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<AlarmOrderKind>))]
public enum AlarmOrderKind
{
    Acknowledge = 0,

    /// <summary>Out of sight until a stated end.</summary>
    Shelve = 1,
    Unshelve = 2,
    TakeOutOfService = 3,
    ReturnToService = 4,
}

/// <param name="Alarm">Key of the alarm.</param>
/// <param name="Kind">What is ordered.</param>
/// <param name="By">Who.</param>
/// <param name="Reason">Why; needed to shelve and to take out of service.</param>
/// <param name="Until">End of shelving; needed to shelve.</param>
public sealed record AlarmOrder(string Alarm, AlarmOrderKind Kind, string By, string Reason = "", Instant? Until = null);
