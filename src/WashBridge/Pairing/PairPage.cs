using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Configuration;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Pairing;

/// <summary>What one of a pair tells the other: how it stands, and a stretch of its log.</summary>
internal sealed record PairPage
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals,
    };

    public required string Site { get; init; }

    public required IReadOnlyList<string> Washers { get; init; }

    /// <summary>The id of its log.</summary>
    public required string Store { get; init; }

    public required bool Reads { get; init; }

    public required bool IsFirst { get; init; }

    public required bool IsWarm { get; init; }

    /// <summary>What it has copied of the other's log.</summary>
    public required CopyMark Copied { get; init; }

    /// <summary>What follows from frames up to here is in its log.</summary>
    public required long FramesSettled { get; init; }

    /// <summary>What follows from events up to here is in its log.</summary>
    public required long EventsSettled { get; init; }

    /// <summary>The end of its log, looked at after the two before.</summary>
    public required long Last { get; init; }

    /// <summary>Behind this entry there are only copies.</summary>
    public required long OwnEnd { get; init; }

    /// <summary>When the question arrived, by its clock.</summary>
    public required DateTimeOffset Asked { get; init; }

    /// <summary>When the answer was ready.</summary>
    public required DateTimeOffset Answered { get; init; }

    /// <summary>Of the samples, each once.</summary>
    public IReadOnlyList<Signal> Signals { get; init; } = [];

    public IReadOnlyList<PairEntry> Entries { get; init; } = [];

    /// <summary>The place of its last entry; 0 without one.</summary>
    [JsonIgnore]
    public long End => Entries.Count > 0 ? Entries[^1].Sequence : 0;

    /// <summary>Why it cannot be the other half of this site's pair; null: it can.</summary>
    public string? Mismatch(Site site)
    {
        var washers = site.Washers.Select(w => w.Model.Washer).ToList();
        return Site != site.Id ? $"it is of site '{Site}', this one of '{site.Id}'"
            : washers.Except(Washers).Concat(Washers.Except(washers)).ToList() is { Count: > 0 } odd ? $"the washers differ: {string.Join(", ", odd)}"
            : null;
    }

    public static void Write(Stream output, PairPage page) => JsonSerializer.Serialize(output, page, Options);

    /// <exception cref="JsonException">It is no such page.</exception>
    public static PairPage Read(ReadOnlySpan<byte> json) => JsonSerializer.Deserialize<PairPage>(json, Options) ?? throw new JsonException("the answer is empty");

    /// <exception cref="JsonException">An entry is of a kind that this version does not know, or names a signal that the page has not.</exception>
    public IEnumerable<LogEntry> ToLog()
    {
        foreach (var entry in Entries)
        {
            yield return entry.ToLog(Signals);
        }
    }
}

/// <summary>An entry of a log on its way: a frame or an event.</summary>
/// <param name="Sequence">In the log that it is of.</param>
/// <param name="Event">As JSON.</param>
/// <param name="Corrects">Of a correction: the id of the record that it corrects. Its number counts in the log that it is of.</param>
internal sealed record PairEntry(long Sequence, PairFrame? Frame, string? Event, string? Corrects)
{
    public static PairEntry Of(LogEntry entry, Func<Signal, int> indexOf, string? corrects) =>
        new(entry.Sequence, entry.Frame is { } frame ? PairFrame.Of(frame, indexOf) : null, entry.Event is { } told ? WashJson.Write(told) : null, corrects);

    public LogEntry ToLog(IReadOnlyList<Signal> signals) => (Frame, Event) switch
    {
        ({ } frame, null) => new LogEntry(Sequence, frame.ToFrame(signals), null),
        (null, { } json) => new LogEntry(Sequence, null, ReadEvent(json)),
        _ => throw new JsonException($"entry {Sequence} is neither a frame nor an event"),
    };

    private static WashEvent ReadEvent(string json)
    {
        try
        {
            return WashJson.ReadEvent(json);
        }
        catch (NotSupportedException unknown)
        {
            throw new JsonException(unknown.Message, unknown);
        }
    }
}

/// <summary>A frame on its way. Times are in microseconds since 1970.</summary>
/// <param name="Shift">Of a clock frame, in 100 ns; null: not known, or no clock frame.</param>
internal sealed record PairFrame(string Washer, int Group, FrameKind Kind, long Earliest, long Latest, string? Reason, long? Shift, IReadOnlyList<PairSample>? Samples)
{
    public static PairFrame Of(Frame frame, Func<Signal, int> indexOf) => new(
        frame.Washer,
        frame.Group,
        frame.Kind,
        frame.Read.Earliest.UnixMicroseconds,
        frame.Read.Latest.UnixMicroseconds,
        frame.Reason,
        frame.Clock?.Shift?.Ticks,
        frame.Samples.Count == 0 ? null : [.. frame.Samples.Select(s => PairSample.Of(s, frame.Read, indexOf))]);

    public Frame ToFrame(IReadOnlyList<Signal> signals)
    {
        var read = new TimeBounds(new Instant(Earliest), new Instant(Latest));
        return new Frame
        {
            Washer = Washer,
            Group = Group,
            Kind = Kind,
            Read = read,
            Samples = Samples is null ? [] : [.. Samples.Select(s => s.ToSample(read, signals))],
            Reason = Reason,
            Clock = Kind == FrameKind.Clock ? new ClockShift(Shift is { } ticks ? TimeSpan.FromTicks(ticks) : null) : null,
        };
    }
}

/// <summary>A sample on its way.</summary>
/// <param name="Signal">Which of the page's signals.</param>
/// <param name="Earliest">With <paramref name="Latest"/>: its own bounds, where they are not those of its frame.</param>
internal sealed record PairSample(int Signal, double Number, string? Text, Quality Quality, long? Earliest, long? Latest)
{
    public static PairSample Of(Sample sample, TimeBounds read, Func<Signal, int> indexOf)
    {
        var own = sample.At == read ? null : (TimeBounds?)sample.At;
        return new PairSample(indexOf(sample.Signal), sample.Value.Number, sample.Value.Text, sample.Quality, own?.Earliest.UnixMicroseconds, own?.Latest.UnixMicroseconds);
    }

    public Sample ToSample(TimeBounds read, IReadOnlyList<Signal> signals) => new(
        Signal >= 0 && Signal < signals.Count ? signals[Signal] : throw new JsonException($"the page has no signal {Signal}"),
        new SignalValue(Number, Text),
        Quality,
        (Earliest, Latest) is ({ } earliest, { } latest) ? new TimeBounds(new Instant(earliest), new Instant(latest)) : read);
}
