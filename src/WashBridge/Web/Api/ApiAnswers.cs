using System.ComponentModel;
using System.Text.Json.Nodes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Web.Api;

/// <summary>A page of entries of the log.</summary>
internal sealed record EventPage(
    [property: Description("The entries, the earliest in the log first. Each is an event with its kind; times are intervals: the earliest and the latest instant at which it can have happened.")] IReadOnlyList<EventEntry> Items,
    [property: Description("Give it as 'after' for the next page; null: there is no more now. A page may be short, or empty, and still have a next.")] long? Next);

internal sealed record EventEntry(
    [property: Description("Place in the log; grows, never repeats.")] long Sequence,
    [property: Description("The event: kind, id, washer, at, and what the kind brings.")] JsonNode Event);

internal sealed record WasherAnswer(string Id, string Title, [property: Description("Number of stations, numbered from 1.")] int Stations);

internal sealed record SignalAnswer(
    string Washer,
    [property: Description("1 to 8; 0: of the washer as a whole.")] int Station,
    string Name,
    [property: Description("Unit of all values of the signal (UCUM); empty for flags, counts and text.")] string Unit,
    SignalType Type);

internal sealed record SamplesAnswer(
    SignalAnswer Signal,
    Instant From,
    Instant Until,
    [property: Description("Whether several samples were put together into each point.")] bool IsReduced,
    [property: Description("In order of time.")] IReadOnlyList<PointAnswer> Points);

internal sealed record PointAnswer(
    [property: Description("The earliest instant at which the controller can have held it; of a reduced point, the begin of its stretch.")] Instant Earliest,
    [property: Description("The latest instant; of a reduced point, the end of its stretch.")] Instant Latest,
    [property: Description("In the signal's unit; of a reduced point, the mean. Null: no value, as where nothing could be read.")] double? Value,
    string? Text,
    [property: Description("Good, Uncertain or Bad (severity of the OPC UA status code); of a reduced point, the worst.")] Quality Quality,
    [property: Description("Of a reduced point.")] double? Minimum = null,
    double? Maximum = null,
    [property: Description("How many samples are in it.")] int Count = 1);

internal sealed record CycleAnswer(string Id, [property: Description("All events of the cycle in the order of the log.")] IReadOnlyList<JsonNode> Events);

internal sealed record KegAnswer(string Keg, [property: Description("Everything that was told of the keg in the order of the log.")] IReadOnlyList<KegEntryAnswer> Entries);

internal sealed record KegEntryAnswer(
    long Sequence,
    [property: Description("Number in the chain of records; null: it is no record, such as a verdict.")] long? Number,
    JsonNode Event,
    [property: Description("The same as corrected since; null: nobody corrected it.")] JsonNode? Corrected);

internal sealed record RecordPage(IReadOnlyList<RecordAnswer> Items, [property: Description("Give it as 'after' for the next page; null: there is no more now.")] long? Next);

internal sealed record RecordAnswer(
    [property: Description("1, 2, 3 and so on, without gaps.")] long Number,
    long Sequence,
    [property: Description("SHA-256 of this record and all before it.")] string Hash,
    JsonNode Event);

internal sealed record AlarmsAnswer([property: Description("The last change of each alarm, the most urgent first.")] IReadOnlyList<JsonNode> Items);

internal sealed record ForecastsAnswer([property: Description("The last forecast of each component.")] IReadOnlyList<JsonNode> Items);
