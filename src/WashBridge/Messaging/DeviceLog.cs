using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Messaging;

/// <summary>
/// The site's washers as devices, as of the follower's place in the log, and what it remembers in the historian: the place, from where each washer's history is still to be told, and the number
/// of the last session.
/// </summary>
internal sealed class DeviceLog(string follower, Site site, IHistorian historian, TimeProvider time, MqttFollowerOptions options)
{
    private static readonly TimeSpan PassingKept = TimeSpan.FromDays(3);

    /// <summary>What holds until it is told otherwise, however long ago it was told; and what a washer's next cycles tell anew.</summary>
    private static readonly string[] Lasting = ["alarm-changed", "drift-found", "drift-ended", "forecast-made", "source-lost", "source-restored"];
    private static readonly string[] Passing = ["cycle-started", "step-started", "cycle-paused", "cycle-resumed", "cycle-ended", "keg-judged"];

    private readonly List<Device> _devices = [];
    private long _position = historian.ReadFollower(follower)?.Sequence ?? historian.LastSequence;
    private long _held;
    private long _bdSeq;
    private long _moved;

    public IReadOnlyList<Device> Devices => _devices;

    /// <summary>All entries up to here are with the broker, or held. May be read from any thread.</summary>
    public long Position => Volatile.Read(ref _position);

    /// <summary>Entries, at most so many, of which a washer's history is still to be told. May be read from any thread.</summary>
    public long Held => Volatile.Read(ref _held);

    /// <summary>Entries that came since.</summary>
    public long Waiting => historian.LastSequence - _position;

    /// <summary>As it was left; a follower that is new begins with the present.</summary>
    public void Resume()
    {
        var memory = historian.ReadFollower(follower)?.State is { } text ? JsonSerializer.Deserialize(text, MqttFollowerJson.Default.MqttFollowerMemory) : null;
        _bdSeq = memory?.BdSeq ?? -1;
        foreach (var (washer, number) in site.Washers.Select((w, i) => (w, i)))
        {
            var id = washer.Model.Washer;
            var from = memory?.Held.TryGetValue(id, out var held) == true ? held : _position;
            var metrics = new WasherMetrics(washer);
            Recall(metrics, from, new EventQuery { Washer = id, Kinds = Lasting });
            Recall(metrics, from, new EventQuery { Washer = id, Kinds = Passing, From = Instant.Floor(time.GetUtcNow() - PassingKept) });
            var device = new Device(id, number, metrics);
            _devices.Add(device);
            while (from < _position && ReadPage(device, from) is { Count: > 0 } entries)
            {
                entries.ForEach(e => device.Take(e));
                from = entries[^1].Sequence;
            }
        }

        Save();
    }

    /// <summary>The number of a session. Kept before it is used: whatever happens, no two have the same in a row (6.4.20).</summary>
    public long NextSession()
    {
        _bdSeq = (_bdSeq + 1) % 256;
        Save();
        return _bdSeq;
    }

    /// <summary>One page of what came since. Where there is nothing, the place moves over what needs no message: frames must not be kept for us.</summary>
    public IReadOnlyList<LogEntry> ReadNew()
    {
        var last = historian.LastSequence;
        var entries = historian.ReadLog(_position, options.MaxEntries, LogContent.Events);
        if (entries.Count == 0 && last > _position && time.GetElapsedTime(_moved) >= options.IdleCursor)
        {
            _position = last;
            Save();
        }

        return entries;
    }

    /// <summary>One page of what is held of a washer.</summary>
    public IReadOnlyList<LogEntry> ReadHeld(Device device) => ReadPage(device, device.HeldFrom!.Value);

    /// <summary>Goes on by one entry.</summary>
    /// <returns>Whose it is, and what it changes; null: no washer's of the site.</returns>
    public (Device? Device, IReadOnlyList<MetricChange> Changes) Take(LogEntry entry)
    {
        _position = entry.Sequence;
        var device = _devices.Find(d => d.Id == entry.Event!.Washer);
        return (device, device?.Take(entry) ?? []);
    }

    /// <summary>The present, for the birth certificates. What led to it is held and told as history.</summary>
    public void FoldToEnd()
    {
        while (historian.ReadLog(_position, options.MaxEntries, LogContent.Events) is { Count: > 0 } entries)
        {
            foreach (var entry in entries)
            {
                Take(entry);
            }
        }

        Save();
    }

    public void Save()
    {
        var held = _devices.Where(d => d.HeldFrom is not null).ToDictionary(d => d.Id, d => d.HeldFrom!.Value);
        historian.AppendEvents([], new FollowerState(follower, _position, JsonSerializer.Serialize(new MqttFollowerMemory(_bdSeq, held), MqttFollowerJson.Default.MqttFollowerMemory)));
        _moved = time.GetTimestamp();
        Volatile.Write(ref _held, held.Count == 0 ? 0 : _position - held.Values.Min());
    }

    private List<LogEntry> ReadPage(Device device, long after) => [.. historian.ReadLog(after, options.MaxEntries, LogContent.Events, device.Id).TakeWhile(e => e.Sequence <= _position)];

    private void Recall(WasherMetrics metrics, long until, EventQuery query)
    {
        foreach (var entry in historian.ReadEventLog(query).TakeWhile(e => e.Sequence <= until))
        {
            metrics.Take(entry.Event!);
        }
    }
}

/// <summary>What a follower remembers besides its cursor.</summary>
/// <param name="BdSeq">Of the last CONNECT; -1: there was none.</param>
/// <param name="Held">By washer: all its events up to there are sent. Washers of which all is sent are left out.</param>
internal sealed record MqttFollowerMemory(long BdSeq, IReadOnlyDictionary<string, long> Held);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase)]
[JsonSerializable(typeof(MqttFollowerMemory))]
internal sealed partial class MqttFollowerJson : JsonSerializerContext;
