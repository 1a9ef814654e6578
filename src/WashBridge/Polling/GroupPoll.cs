using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Pipeline;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Polling;

/// <summary>One group of a washer: its schedule, how it is read, and what was recorded last.</summary>
internal sealed class GroupPoll
{
    private readonly PollGroup _group;
    private readonly List<Tag> _tags;
    private readonly Sample[] _samples;
    private readonly ChangeFilter _filter;
    private readonly ModbusScanner _scanner;
    private readonly ScanResult _result;
    private long _done;
    private long _failed;
    private volatile string? _trouble = "it has not been read yet";

    public GroupPoll(WasherConfiguration washer, PollGroup group)
    {
        var connection = (ModbusConnection)washer.Connection;
        _group = group;
        _tags = [.. washer.Tags.Where(t => t.Group == group.Number)];
        _samples = new Sample[_tags.Count];
        _filter = new ChangeFilter(washer.Model.Washer, group, _tags);
        _scanner = new ModbusScanner(connection.Unit, [.. _tags.Select(t => ((ModbusSource)t.Source).Point)], ModbusSettings.ReadPlan(connection));
        _result = _scanner.CreateResult();
        Schedule = new PollSchedule(group.Every, 0, TimeSpan.TicksPerSecond);
    }

    public string Name => _group.Name;

    public int Number => _group.Number;

    public ReadCounts Counts => new(Interlocked.Read(ref _done), Interlocked.Read(ref _failed));

    /// <summary>The first cause since it was read; null: the last poll brought something.</summary>
    public string? Trouble => _trouble;

    /// <summary>The last frame written said that the group could not be read.</summary>
    public bool IsDown { get; private set; }

    public PollSchedule Schedule { get; private set; }

    /// <summary>Starts the schedule on a new connection.</summary>
    public void Begin(long startStamp, long stampsPerSecond)
    {
        Schedule = new PollSchedule(_group.Every, startStamp, stampsPerSecond);
        _filter.ForceFull();
    }

    /// <summary>Reads all tags of the group once.</summary>
    /// <exception cref="ModbusException">Nothing was read.</exception>
    public async ValueTask<Frame> ReadAsync(ModbusClient client, ClockAnchor anchor, CancellationToken cancellation)
    {
        await _scanner.ScanAsync(client, _result, cancellation);
        IsDown = false;
        _trouble = null;
        Interlocked.Increment(ref _done);
        return Keep(anchor);
    }

    public void CountFailure() => Interlocked.Increment(ref _failed);

    public Frame Fail(string reason, TimeBounds read)
    {
        IsDown = true;
        _trouble = reason;
        return _filter.Fail(reason, read);
    }

    private Frame Keep(ClockAnchor anchor)
    {
        var read = new TimeBounds(anchor.Floor(_result.Sent), anchor.Ceiling(_result.Received));
        for (var i = 0; i < _tags.Count; i++)
        {
            ref readonly var reading = ref _result.Points[i];
            var at = reading.TimingIndex < 0 || _result.RequestCount == 1
                ? read
                : new TimeBounds(anchor.Floor(_result.Timings[reading.TimingIndex].Sent), anchor.Ceiling(_result.Timings[reading.TimingIndex].Received));
            _samples[i] = TagDecoder.Decode(_tags[i], reading).At(_tags[i].Signal, at);
        }

        return _filter.Keep(_samples, read);
    }
}
