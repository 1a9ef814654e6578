using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Reading;

namespace WashBridge.Historian;

/// <summary>One entry of the log: a frame or an event, never both.</summary>
/// <param name="Sequence">Its place in the log; grows, never repeats. Frames and events share one counter.</param>
public readonly record struct LogEntry(long Sequence, Frame? Frame, WashEvent? Event);

/// <summary>How far a follower has come, and what it must remember besides.</summary>
/// <param name="Follower">Its name, such as <c>segmenter/w1</c> or <c>influx/plant</c>.</param>
/// <param name="Sequence">All entries up to this one are done with.</param>
/// <param name="State">The follower's own state at that point, as text; null if it has none.</param>
public sealed record FollowerState(string Follower, long Sequence, string? State = null);

/// <summary>A follower's place in the log as it was last saved, without what else it remembers.</summary>
/// <param name="Sequence">All entries up to this one are done with.</param>
/// <param name="Saved">When, by the clock of the machine that wrote it.</param>
public sealed record FollowerPlace(string Follower, long Sequence, Instant Saved);

/// <summary>That there is an event about a keg, without what it says.</summary>
/// <param name="Sequence">Its place in the log.</param>
/// <param name="Kind">As in the events' JSON, such as <c>keg-judged</c>.</param>
public sealed record KegMark(long Sequence, string Kind, string? CycleId);

[Flags]
public enum LogContent
{
    Frames = 1,
    Events = 2,
    All = Frames | Events,
}

/// <summary>Which events. Null: any.</summary>
public sealed record EventQuery
{
    public string? Washer { get; init; }

    public string? CycleId { get; init; }

    /// <summary>Events about this keg.</summary>
    public string? KegId { get; init; }

    /// <summary>Kinds as in the events' JSON, such as <c>cycle-ended</c>.</summary>
    public IReadOnlyList<string>? Kinds { get; init; }

    /// <summary>Events whose <see cref="WashEvent.At"/> ends at or after this.</summary>
    public Instant? From { get; init; }

    /// <summary>Events whose <see cref="WashEvent.At"/> begins before this.</summary>
    public Instant? Until { get; init; }

    /// <summary>At most this many, the earliest in the log first; null for all.</summary>
    public int? AtMost { get; init; }
}

/// <summary>An hour of one signal: good and uncertain samples only.</summary>
public sealed record HourlySummary(Instant Hour, int Count, double Minimum, double Maximum, double Mean, double Last);

/// <summary>Reading side. Safe for use by several threads and beside a writer in another process.</summary>
public interface IHistorianReader : IDisposable
{
    /// <summary>The last sequence number committed; 0 in an empty historian.</summary>
    long LastSequence { get; }

    IReadOnlyList<Signal> Signals { get; }

    /// <summary>Entries after <paramref name="after"/>, in order, at most <paramref name="atMost"/>. Sealed and hot data alike.</summary>
    IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null);

    /// <summary>Events of these kinds (as in their JSON, such as <c>cycle-ended</c>) after <paramref name="after"/>, in order, at most <paramref name="atMost"/>.</summary>
    IReadOnlyList<LogEntry> ReadEventLog(long after, int atMost, IReadOnlyCollection<string> kinds)
    {
        var found = new List<LogEntry>();
        while (found.Count < atMost && ReadLog(after, 1000, LogContent.Events) is { Count: > 0 } page)
        {
            found.AddRange(page.Where(e => kinds.Contains(WashJson.KindOf(e.Event!))).Take(atMost - found.Count));
            after = page[^1].Sequence;
        }

        return found;
    }

    /// <summary>A washer's frames that were read within [from, until], in log order, clock and failed frames included.</summary>
    IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until);

    /// <summary>The same with their places in the log, for whoever must tell where a figure comes from.</summary>
    IReadOnlyList<LogEntry> ReadFrameLog(string washer, Instant from, Instant until)
    {
        var found = new List<LogEntry>();
        for (var after = 0L; ReadLog(after, 4096, LogContent.Frames, washer) is { Count: > 0 } page; after = page[^1].Sequence)
        {
            found.AddRange(page.Where(e => e.Frame!.Read.Earliest >= from && e.Frame.Read.Latest <= until));
        }

        return found;
    }

    /// <summary>One signal's samples with <c>At.Latest</c> within [from, until], and the last one before it if there is one within a day.</summary>
    IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until);

    IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until);

    /// <summary>One signal's samples with <c>At.Latest</c> within [from, until), summed up in <paramref name="count"/> equal parts (1 to 10,000): for pictures, in which no spike may be lost.</summary>
    SignalParts ReadParts(Signal signal, Instant from, Instant until, int count)
    {
        var parts = new SignalParts(from, until, count);
        foreach (var sample in ReadSamples(signal, from, until))
        {
            parts.Add(sample.At.Latest.UnixMicroseconds, sample.Value.Number, sample.Quality);
        }

        return parts;
    }

    IReadOnlyList<WashEvent> ReadEvents(EventQuery query);

    /// <summary>The same with their places in the log.</summary>
    IReadOnlyList<LogEntry> ReadEventLog(EventQuery query)
    {
        var ids = ReadEvents(query).Select(e => e.Id).ToHashSet(StringComparer.Ordinal);
        return [.. ReadEventLog(0, int.MaxValue, query.Kinds ?? [.. WashJson.Kinds]).Where(e => ids.Contains(e.Event!.Id))];
    }

    /// <summary>The events at these places in the log, in order; where there is none, or a damaged one, nothing.</summary>
    IReadOnlyList<LogEntry> ReadEventsAt(IReadOnlyCollection<long> sequences) =>
        [.. sequences.Distinct().Order().SelectMany(s => ReadLog(s - 1, 1, LogContent.Events).Where(e => e.Sequence == s))];

    FollowerState? ReadFollower(string follower);

    /// <summary>Every follower, by name. One that nobody moves any more holds back <see cref="IHistorian.Expire"/> until it is removed.</summary>
    IReadOnlyList<FollowerPlace> ReadFollowers() => throw new NotSupportedException("this historian does not list its followers");

    /// <summary>The end of the chain of records; null where there is no record.</summary>
    RecordHead? RecordHead => RecordFold.Of(this) is { Count: > 0 } records ? new RecordHead(records[^1].Number, records[^1].Hash) : null;

    /// <summary>Records after a number, in order, at most <paramref name="atMost"/>. One that is damaged is left out: its number is missing.</summary>
    IReadOnlyList<RecordEntry> ReadRecords(long after, int atMost) => [.. RecordFold.Of(this).Where(r => r.Number > after).Take(atMost)];

    /// <summary>Everything that was told of a keg, in the order of the log, also what was told of it by mistake or corrected to be of it: for <see cref="KegFile"/>.</summary>
    IReadOnlyList<KegEntry> ReadKeg(string kegId) => RecordFold.OfKeg(this, kegId);

    /// <summary>What kinds of events there are about each of these kegs, in the order of the log: for lists of many kegs. Ids of which nothing is known have none.</summary>
    IReadOnlyDictionary<string, IReadOnlyList<KegMark>> ReadKegMarks(IReadOnlyCollection<string> kegIds) => kegIds.Distinct(StringComparer.Ordinal).ToDictionary(
        id => id, id => (IReadOnlyList<KegMark>)[.. ReadKeg(id).Select(e => new KegMark(e.Sequence, WashJson.KindOf(e.Event), e.Event.CycleId))], StringComparer.Ordinal);

    /// <summary>Every keg id that anything was ever told of, in order.</summary>
    IReadOnlyList<string> ReadKegIds() =>
        [.. ReadEvents(new EventQuery { Kinds = [.. WashJson.KegKinds] }).OfType<IAboutKegs>().SelectMany(e => e.Kegs).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];

    /// <summary>
    /// Recomputes the chain of records and says where it breaks. Long work: it tells its progress and can be cancelled.
    /// </summary>
    /// <param name="expected">A head that was written down earlier: without it nobody can see that the end was cut off, or the whole chain made anew.</param>
    RecordCheck VerifyRecords(RecordHead? expected = null, IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) =>
        throw new NotSupportedException("this historian keeps no chain of records");

    /// <summary>
    /// Stored data that reads so far found damaged. In its place they give a failed frame for the group, or a bad sample of the signal, so that nobody
    /// downstream takes a gap for a value that held; a damaged event is left out. What is not damaged is not affected.
    /// </summary>
    IReadOnlyList<Damage> Damage => [];

    /// <summary>Reads everything, checks it against its checksums and lists what is damaged. Long work: it tells its progress and can be cancelled.</summary>
    IReadOnlyList<Damage> Verify(IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) => Damage;
}

/// <summary>Writing side: one writer a file. Every append is durable when it returns.</summary>
public interface IHistorian : IHistorianReader
{
    /// <summary>Appends frames and moves a follower in one transaction. Returns the last sequence number given.</summary>
    long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower = null);

    /// <summary>
    /// Appends events and moves a follower in one transaction. Events whose id is already stored are skipped, so that folding a
    /// stretch of the log again changes nothing. Returns the last sequence number given.
    /// </summary>
    long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower = null);

    /// <summary>Seals hot data older than <paramref name="before"/> into chunks, in small transactions that never hold up an append for long.</summary>
    void Seal(Instant before, CancellationToken cancellation = default);

    /// <summary>
    /// Drops frames (raw samples) that are older than <paramref name="before"/> and gives the space back. Never passes a follower that is behind.
    /// Events and hourly summaries stay: they are the record that raw samples were kept for.
    /// </summary>
    void Expire(Instant before, CancellationToken cancellation = default);

    /// <summary>Forgets a follower. Returns whether there was one of that name.</summary>
    bool RemoveFollower(string follower);
}
