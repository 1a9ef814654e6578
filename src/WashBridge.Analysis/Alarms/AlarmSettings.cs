namespace WashBridge.Analysis.Alarms;

/// <summary>When an alarm of a washer arises.</summary>
public sealed record AlarmSettings
{
    /// <summary>A forecast is an alarm once the median of the cycles left is at most this. 1 to 100,000.</summary>
    public int WarnBefore { get; init; } = 500;

    /// <summary>So many kegs in a row at one station that did not meet their recipe are an alarm. 1 to 1,000.</summary>
    public int NotMetInARow { get; init; } = 3;

    /// <summary>The washer must be unreadable for so long: a lost poll or a short break is none. 0 to 1 h.</summary>
    public TimeSpan NotReadableAfter { get; init; } = TimeSpan.FromMinutes(1);
}
