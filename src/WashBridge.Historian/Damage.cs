using WashBridge.Core.Time;

namespace WashBridge.Historian;

/// <summary>Stored data that could not be read back. The rest is not affected; readers get a failed frame or a bad sample in its place.</summary>
/// <param name="Place">Which row of which table.</param>
/// <param name="FirstSequence">The log entries concerned: from this one.</param>
/// <param name="LastSequence">To this one.</param>
/// <param name="Time">When they were read at the controller.</param>
/// <param name="Problem">What is wrong.</param>
public sealed record Damage(string Place, long FirstSequence, long LastSequence, TimeBounds Time, string Problem)
{
    public override string ToString() => $"{Place}: {Problem} (log entries {FirstSequence} to {LastSequence}, {Time.Earliest} to {Time.Latest})";
}

/// <summary>How far long work has come.</summary>
/// <param name="Done">Steps done.</param>
/// <param name="Total">Steps in all, as far as known.</param>
public readonly record struct HistorianProgress(long Done, long Total);
