using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Alarms;

/// <summary>
/// How well the alarms of a site serve the people who get them, over a period: the figures of ANSI/ISA-18.2-2016, clause 16, and IEC 62682:2014. The recommended
/// values beside them are from memory.
/// </summary>
public sealed record AlarmFigures
{
    /// <summary>More announcements than this in ten minutes are a flood.</summary>
    public const int FloodAbove = 10;

    /// <summary>An alarm that is announced so often within <see cref="ChatterWithin"/> chatters.</summary>
    public const int ChatterFrom = 3;
    private const int MostListed = 10;

    private static readonly TimeSpan FloodWindow = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan ChatterWithin = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan LongStanding = TimeSpan.FromHours(24);

    public required Instant From { get; init; }

    public required Instant Until { get; init; }

    /// <summary>How often a person was told: every change to unacknowledged.</summary>
    public required int Announced { get; init; }

    /// <summary>Mean over the period.</summary>
    public required double AnnouncedPerHour { get; init; }

    public required double AnnouncedPerDay { get; init; }

    /// <summary>The most in any ten minutes.</summary>
    public required int MostInTenMinutes { get; init; }

    /// <summary>Share of the period, 0 to 1, at whose moments more than <see cref="FloodAbove"/> had been announced within the ten minutes before.</summary>
    public required double FloodShare { get; init; }

    /// <summary>Alarms that stand at the end of the period, shelved and suppressed ones not counted; of these, those that have stood for more than 24 h.</summary>
    public required int Standing { get; init; }

    public required IReadOnlyList<AlarmName> StandingLong { get; init; }

    public required IReadOnlyList<AlarmName> Chattering { get; init; }

    /// <summary>The ten announced most often, the most frequent first.</summary>
    public required IReadOnlyList<AlarmCount> MostFrequent { get; init; }

    /// <summary>Of fewer announcements ten alarms always have a large share.</summary>
    private const int LeastForShare = 100;

    /// <summary>Share of the ten most frequent in all that was announced, 0 to 1.</summary>
    public required double MostFrequentShare { get; init; }

    /// <summary>Announcements by priority: low, medium, high.</summary>
    public required IReadOnlyDictionary<AlarmPriority, int> ByPriority { get; init; }

    /// <summary>The figures beside what the standard recommends for one operator.</summary>
    public IReadOnlyList<AlarmFigure> Compared =>
    [
        new("announced a day", AnnouncedPerDay, "", "150 or less very likely acceptable, 300 the most that can be managed", AnnouncedPerDay <= 150),
        new("announced an hour", AnnouncedPerHour, "", "6 or less very likely acceptable, 12 the most that can be managed", AnnouncedPerHour <= 6),
        new("most in ten minutes", MostInTenMinutes, "", "10 or less", MostInTenMinutes <= FloodAbove),
        new("share of time in flood", 100 * FloodShare, "%", "below 1 %", FloodShare < 0.01),
        new("standing for more than 24 h", StandingLong.Count, "", "fewer than 5", StandingLong.Count < 5),
        new("chattering", Chattering.Count, "", "none", Chattering.Count == 0),
        new("share of the ten most frequent", 100 * MostFrequentShare, "%", $"5 % or less; says nothing of fewer than {LeastForShare}", Announced < LeastForShare || MostFrequentShare <= 0.05),
        new("share of high priority", 100 * Share(AlarmPriority.High), "%", "about 5 %", Announced == 0 || Share(AlarmPriority.High) <= 0.05),
    ];

    /// <summary>Share of a priority in all that was announced, 0 to 1; 0 where nothing was.</summary>
    public double Share(AlarmPriority priority) => Announced == 0 ? 0 : ByPriority[priority] / (double)Announced;

    /// <param name="changes">All changes of alarms up to the end of the period, those before it included, in the order of the log; several washers may be among them.</param>
    /// <exception cref="ArgumentException">The period has no length.</exception>
    public static AlarmFigures Of(IEnumerable<AlarmChanged> changes, Instant from, Instant until)
    {
        ArgumentNullException.ThrowIfNull(changes);
        if (until <= from)
        {
            throw new ArgumentException($"the period from {from} until {until} has no length", nameof(until));
        }

        var known = changes.Where(c => c.At.Latest < until).ToList();
        var announced = known.Where(c => c.At.Latest >= from && AlarmLifeCycle.IsAnnounced(c.From, c.To)).ToList();
        var standing = known.GroupBy(NameOf).Select(a => (Name: a.Key, Last: a.Last())).Where(a => AlarmLifeCycle.Stands(a.Last.To)).ToList();
        var frequent = announced.GroupBy(NameOf).Select(a => new AlarmCount(a.Key, a.Count())).OrderByDescending(a => a.Count).ThenBy(a => a.Name.Washer, StringComparer.Ordinal)
            .ThenBy(a => a.Name.Alarm, StringComparer.Ordinal).Take(MostListed).ToList();
        var times = announced.Select(c => c.At.Latest).Order().ToList();
        var hours = (until - from).TotalHours;
        return new AlarmFigures
        {
            From = from,
            Until = until,
            Announced = announced.Count,
            AnnouncedPerHour = announced.Count / hours,
            AnnouncedPerDay = announced.Count / hours * 24,
            MostInTenMinutes = Most(times),
            FloodShare = Flood(times, until) / (until - from),
            Standing = standing.Count,
            StandingLong = [.. standing.Where(a => until - StoodSince(known, a.Name) > LongStanding).Select(a => a.Name)],
            Chattering = [.. announced.GroupBy(NameOf).Where(Chatters).Select(a => a.Key)],
            MostFrequent = frequent,
            MostFrequentShare = announced.Count == 0 ? 0 : frequent.Sum(a => a.Count) / (double)announced.Count,
            ByPriority = Enum.GetValues<AlarmPriority>().ToDictionary(p => p, p => announced.Count(c => c.Priority == p)),
        };
    }

    /// <summary>From when on it has stood without a break; acknowledging it is none.</summary>
    private static Instant StoodSince(List<AlarmChanged> changes, AlarmName name)
    {
        var since = default(Instant);
        foreach (var change in changes.Where(c => NameOf(c) == name))
        {
            since = AlarmLifeCycle.Stands(change.To) && !AlarmLifeCycle.Stands(change.From) ? change.At.Latest : since;
        }

        return since;
    }

    private static int Most(List<Instant> times)
    {
        var (most, first) = (0, 0);
        for (var last = 0; last < times.Count; last++)
        {
            for (; times[last] - times[first] >= FloodWindow; first++)
            {
            }

            most = Math.Max(most, last - first + 1);
        }

        return most;
    }

    /// <summary>The eleventh announcement begins a flood, which lasts until the first of the eleven is ten minutes old.</summary>
    private static TimeSpan Flood(List<Instant> times, Instant until)
    {
        var flood = TimeSpan.Zero;
        var covered = default(Instant);
        for (var last = FloodAbove; last < times.Count; last++)
        {
            var begin = Instant.Max(times[last], covered);
            var end = Instant.Min(times[last - FloodAbove] + FloodWindow, until);
            if (end > begin)
            {
                flood += end - begin;
                covered = end;
            }
        }

        return flood;
    }

    private static bool Chatters(IEnumerable<AlarmChanged> announced)
    {
        var times = announced.Select(c => c.At.Latest).Order().ToList();
        return Enumerable.Range(0, Math.Max(0, times.Count - ChatterFrom + 1)).Any(i => times[i + ChatterFrom - 1] - times[i] <= ChatterWithin);
    }

    private static AlarmName NameOf(AlarmChanged change) => new(change.Washer, change.Alarm);
}

public sealed record AlarmName(string Washer, string Alarm);

public sealed record AlarmCount(AlarmName Name, int Count);

/// <summary>A figure beside the recommended one.</summary>
/// <param name="Title">What is counted.</param>
/// <param name="Unit">Of the value; empty for a count.</param>
/// <param name="Recommended">What the standard says, from memory.</param>
/// <param name="IsWithin">The value is as recommended.</param>
public sealed record AlarmFigure(string Title, double Value, string Unit, string Recommended, bool IsWithin);
