using System.Globalization;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Polling;

namespace WashBridge.Pipeline;

/// <summary>
/// Remembers, across restarts of the service, how the wall clock stood to the machine's monotonic clock. As long as the machine was not
/// rebooted, a restart then leaves durations known; after a reboot nothing connects the two sides and the shift is unknown.
/// </summary>
internal sealed class ClockKeeper(IHistorian historian, string? bootId)
{
    public const string Name = "clock";

    /// <summary>Below this a difference between two readings of two clocks is noise.</summary>
    private static readonly TimeSpan Tolerance = TimeSpan.FromMilliseconds(20);

    /// <summary>The id of this boot where the system tells it; null elsewhere: then every restart counts as a reboot.</summary>
    public static string? ReadBootId()
    {
        const string Source = "/proc/sys/kernel/random/boot_id";
        return File.Exists(Source) ? File.ReadAllText(Source).Trim() : null;
    }

    /// <summary>How far the wall clock was moved between the last <see cref="Save"/> and <paramref name="now"/>.</summary>
    public ClockShift SinceLastRun(ClockAnchor now)
    {
        if (bootId is null || historian.ReadFollower(Name)?.State?.Split(' ') is not [var savedBoot, var stamp, var wall] || savedBoot != bootId)
        {
            return new ClockShift(null);
        }

        var then = new ClockAnchor(
            long.Parse(stamp, CultureInfo.InvariantCulture),
            DateTimeOffset.ParseExact(wall, "O", CultureInfo.InvariantCulture),
            TimeSpan.Zero,
            now.StampsPerSecond);
        var jump = now.Wall - then.At(now.Stamp);
        return new ClockShift(jump.Duration() <= Tolerance ? TimeSpan.Zero : jump);
    }

    /// <summary>Follows nothing in the log; saved often enough that it never holds up what may be dropped.</summary>
    public void Save(ClockAnchor anchor)
    {
        if (bootId is not null)
        {
            historian.AppendEvents([], new FollowerState(Name, historian.LastSequence, FormattableString.Invariant($"{bootId} {anchor.Stamp} {anchor.Wall:O}")));
        }
    }
}
