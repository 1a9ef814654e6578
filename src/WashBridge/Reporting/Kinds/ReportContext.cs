using System.Reflection;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>What every kind of report reads from, and the list of sources that grows as it reads.</summary>
internal sealed class ReportContext
{
    private static readonly string Program = $"WashBridge {typeof(ReportContext).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion.Split('+')[0]}";

    private const int LongestTitle = 80;

    /// <summary>Entries at either end of the log that are looked through for the first and the last instant.</summary>
    private const int Looked = 2000;

    public ReportContext(ReportWish wish, IHistorianReader historian, Site? site, CancellationToken cancellation)
    {
        (Wish, Historian, Site, Cancellation) = (wish, historian, site, cancellation);
        Zone = wish.Zone ?? site?.Zone ?? TimeZoneInfo.Utc;
        var last = historian.LastSequence;
        (First, Last) = (Times(historian.ReadLog(0, Looked)).Select(t => t.Earliest).Cast<Instant?>().Min(), Times([.. Tail(last, LogContent.Frames), .. Tail(last, LogContent.Events)]).Select(t => t.Latest).Cast<Instant?>().Max());
        Basis = new DocumentBasis(site is null ? "" : $"{site.Title} ({site.Id})", Zone, Program, last, Last, historian.RecordHead?.ToString());
    }

    public ReportWish Wish { get; }

    public IHistorianReader Historian { get; }

    public Site? Site { get; }

    public TimeZoneInfo Zone { get; }

    public CancellationToken Cancellation { get; }

    public DocumentBasis Basis { get; }

    public TraceList Traces { get; } = new();

    /// <summary>The first instant that the log tells of; null in an empty historian.</summary>
    public Instant? First { get; }

    public Instant? Last { get; }

    /// <summary>The period wished for; what is not given is where the log begins and just past where it ends.</summary>
    /// <exception cref="ReportWishException">It is empty.</exception>
    public (Instant From, Instant Until) Period()
    {
        if ((First, Last) is not ({ } first, { } last))
        {
            throw new ReportWishException("the historian: found no entry; allowed: one that has read a washer");
        }

        var (from, until) = (Wish.From ?? first, Wish.Until ?? last + TimeSpan.FromMicroseconds(1));
        return until > from
            ? (from, until)
            : throw new ReportWishException($"the period: found from {Local(from)} until {Local(until)}; allowed: an end after the beginning (the log holds {Local(first)} to {Local(last)})");
    }

    /// <summary>Events of these kinds that ended at the latest within the period, in log order, with their places.</summary>
    public EventLog Read(string? washer, Instant from, Instant until, params string[] kinds)
    {
        Cancellation.ThrowIfCancellationRequested();
        var entries = Historian.ReadEventLog(new EventQuery { Washer = washer, Kinds = kinds, From = from, Until = until });
        return new EventLog(this, kinds, washer, from, until, [.. entries.Where(e => IsKnown(e) && e.Event!.At.Latest >= from && e.Event.At.Latest < until)]);
    }

    /// <summary>All events of these kinds before an instant.</summary>
    public EventLog ReadUntil(string? washer, Instant until, params string[] kinds)
    {
        Cancellation.ThrowIfCancellationRequested();
        var entries = Historian.ReadEventLog(new EventQuery { Washer = washer, Kinds = kinds, Until = until });
        return new EventLog(this, kinds, washer, null, until, [.. entries.Where(IsKnown)]);
    }

    public EventLog ReadCycle(string cycle, params string[] kinds) =>
        new(this, kinds, null, null, null, [.. Historian.ReadEventLog(new EventQuery { CycleId = cycle, Kinds = kinds }).Where(IsKnown)]) { CycleId = cycle };

    /// <summary>All that is known of a keg.</summary>
    public KegFile Keg(string kegId) => KegFile.Of(kegId, Historian.ReadKeg(kegId).Where(e => e.Sequence <= Basis.LastSequence));

    /// <summary>Single entries as one source.</summary>
    public int Trace(string of, params IReadOnlyList<LogEntry> entries) =>
        new EventLog(this, [.. entries.Select(e => Core.WashJson.KindOf(e.Event!)).Distinct()], null, null, null, entries).Trace(of);

    /// <summary>Was in the log when the report was begun: what comes in meanwhile is not told in half.</summary>
    private bool IsKnown(LogEntry entry) => entry.Sequence <= Basis.LastSequence;

    public WasherConfiguration? Configuration(string washer) => Site?.Washers.FirstOrDefault(w => w.Model.Washer == washer);

    /// <summary>The recipe by which a verdict was reached; null where the site's files do not have this version.</summary>
    public Recipe? Recipe(string washer, string id, int version)
    {
        var configuration = Configuration(washer);
        return configuration is null ? null : configuration.RecipesByProgramme.Values.Prepend(configuration.Recipe).FirstOrDefault(r => r.Id == id && r.Version == version);
    }

    public string Local(Instant at) => CellWords.Instant(at, Zone);

    /// <summary>Every washer that the log or the site knows.</summary>
    public IReadOnlyList<string> Washers() =>
        [.. (Site?.Washers.Select(w => w.Model.Washer) ?? []).Concat(Historian.Signals.Select(s => s.Washer)).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];

    /// <exception cref="ReportWishException">Nobody knows the washer.</exception>
    public void CheckWasher()
    {
        if (Wish.Washer is { } washer && Washers() is { Count: > 0 } known && !known.Contains(washer))
        {
            throw new ReportWishException($"washer: found {washer}; allowed: {string.Join(", ", known)}");
        }
    }

    public Document Document(string title, IReadOnlyList<Fact> facts, IReadOnlyList<Section> sections, params string[] claims) => new()
    {
        Kind = Wish.Kind.ToString().ToLowerInvariant(),
        Title = Short(title),
        Basis = Basis,
        Facts = facts,
        Sections = sections,
        Traces = Traces.All,
        Claims = claims,
    };

    /// <summary>An id may be as long as it likes; in full it stands among the facts.</summary>
    private static string Short(string title)
    {
        if (title.Length <= LongestTitle)
        {
            return title;
        }

        var cut = char.IsHighSurrogate(title[LongestTitle - 1]) ? LongestTitle - 1 : LongestTitle;
        return title[..cut] + " ...";
    }

    /// <summary>The last entries of a kind: the log is in order of coming in, and what is concluded comes in after what it was concluded from, sometimes long after.</summary>
    private IReadOnlyList<LogEntry> Tail(long last, LogContent content)
    {
        for (var back = (long)Looked; ; back *= 2)
        {
            var found = Historian.ReadLog(Math.Max(0, last - back), int.MaxValue, content);
            if (found.Count > 0 || back >= last)
            {
                return found;
            }
        }
    }

    private static IEnumerable<TimeBounds> Times(IEnumerable<LogEntry> entries) => entries.Select(e => e.Frame?.Read ?? e.Event!.At);
}

/// <summary>Events with their places in the log, from which figures are made.</summary>
internal sealed record EventLog(ReportContext Context, IReadOnlyList<string> Kinds, string? Washer, Instant? From, Instant? Until, IReadOnlyList<LogEntry> Entries)
{
    public string? CycleId { get; init; }

    public IEnumerable<T> Of<T>()
        where T : WashEvent => Entries.Select(e => e.Event).OfType<T>();

    /// <summary>Only those of a washer.</summary>
    public EventLog OfWasher(string? washer) => washer is null || washer == Washer ? this : this with { Washer = washer, Entries = [.. Entries.Where(e => e.Event!.Washer == washer)] };

    /// <summary>Only those of these kinds.</summary>
    public EventLog OnlyOf(params string[] kinds) => this with { Kinds = kinds, Entries = [.. Entries.Where(e => kinds.Contains(Core.WashJson.KindOf(e.Event!)))] };

    /// <summary>Numbers all of them as one source.</summary>
    public int Trace(string of) => Context.Traces.Add(new EventTrace(Kinds, CycleId, Entries.Count)
    {
        Of = of,
        Washer = Washer,
        From = From,
        Until = Until,
        FirstSequence = Entries.Count > 0 ? Entries[0].Sequence : null,
        LastSequence = Entries.Count > 0 ? Entries[^1].Sequence : null,
    });
}
