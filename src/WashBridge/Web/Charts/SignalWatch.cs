using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Charts;

/// <summary>A stretch in which a signal was not read.</summary>
/// <param name="From">The last reading before; the same as <paramref name="Until"/> where only the end is known, as after a restart.</param>
/// <param name="Until">The first reading after.</param>
/// <param name="Reason">As the log has it; empty where nobody told.</param>
internal sealed record Silence(Instant From, Instant Until, string Reason);

/// <summary>How long a value that was recorded can be taken to hold, because every change since would have been recorded.</summary>
/// <param name="Hold">Two samples further apart than this: something was not read in between.</param>
/// <param name="Silences">In order of time.</param>
internal sealed record SignalWatch(TimeSpan Hold, IReadOnlyList<Silence> Silences)
{
    /// <summary>For signals that no tag map has any more: the longest heartbeat that a configuration can ask for, and half as much again.</summary>
    private static readonly TimeSpan LongestHold = TimeSpan.FromMinutes(90);

    /// <summary>How far back an outage that still lasts can have begun.</summary>
    private static readonly TimeSpan LookBack = TimeSpan.FromDays(2);

    public static SignalWatch Of(IHistorianReader historian, Site site, Signal signal, Instant from, Instant until)
    {
        var washer = site.Washers.FirstOrDefault(w => w.Model.Washer == signal.Washer);
        var group = washer?.Tags.FirstOrDefault(t => t.Signal == signal)?.Group;
        var settings = washer?.Groups.FirstOrDefault(g => g.Number == group);
        return new SignalWatch(settings is null ? LongestHold : settings.Heartbeat * 1.5, Read(historian, signal.Washer, group, from, until));
    }

    /// <summary>Nothing connects what was read before with what was read after.</summary>
    public bool IsBroken(Instant before, Instant after) => after - before > Hold || FirstAfter(before) is { } silence && silence.From < after && silence.Until <= after;

    /// <summary>The first silence that ends after an instant.</summary>
    public Silence? FirstAfter(Instant at)
    {
        var (low, high) = (0, Silences.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            (low, high) = Silences[middle].Until > at ? (low, middle) : (middle + 1, high);
        }

        return low < Silences.Count ? Silences[low] : null;
    }

    private static List<Silence> Read(IHistorianReader historian, string washer, int? group, Instant from, Instant until)
    {
        var silences = new List<Silence>();
        SourceLost? open = null;
        foreach (var each in historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["source-lost", "source-restored", "clock-stepped"], From = from - LookBack, Until = until }))
        {
            switch (each)
            {
                case SourceLost lost when lost.Group == group:
                    open = lost;
                    break;
                case SourceRestored restored when restored.Group == group:
                    silences.Add(new Silence(restored.Gap.Earliest, restored.Gap.Latest, open?.Reason ?? ""));
                    open = null;
                    break;
                case ClockStepped { Shift: null } stepped:
                    silences.Add(new Silence(stepped.At.Latest, stepped.At.Latest, stepped.Reason));
                    break;
                default:
                    break;
            }
        }

        if (open is not null)
        {
            silences.Add(new Silence(open.At.Earliest, Instant.Max(until, open.At.Latest), open.Reason));
        }

        return [.. silences.Where(s => s.Until >= from).OrderBy(s => s.Until)];
    }
}
