using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Pipeline;

/// <summary>How far behind the log somebody is who follows it.</summary>
/// <param name="Entries">Entries not come to; where only some are of interest, at most so many. 0: up to date.</param>
/// <param name="Oldest">When the oldest of these came about; null: up to date.</param>
internal readonly record struct LogLag(long Entries, Instant? Oldest)
{
    public static LogLag Of(IHistorianReader historian, long cursor, LogContent content) =>
        historian.ReadLog(cursor, 1, content) is [var next]
            ? new LogLag(Math.Max(1, historian.LastSequence - cursor), next.Event?.At.Latest ?? next.Frame!.Read.Latest)
            : default;
}
