using System.Threading.Channels;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Pipeline;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Telemetry;

namespace WashBridge.Subscribing;

/// <summary>
/// Reads one washer by subscription, and writes frames as a poller would. The connection reconnects by itself; what this adds is evidence: an outage that
/// lost something, or that lasts, is written as failed frames with its first cause.
/// </summary>
internal sealed partial class OpcUaSubscriber : IFrameSource, ISubscriptionListener
{
    /// <summary>Stands in traces for the group: all share one subscription.</summary>
    private const string AllGroups = "*";
    private const string NotYet = "no connection has been made yet";

    /// <summary>An interruption that ends sooner, and in which the server kept everything, leaves no mark: nothing was missed.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(3);
    private static readonly TimeSpan LookEvery = TimeSpan.FromMilliseconds(250);

    private readonly WasherConfiguration _washer;
    private readonly Func<UaClientOptions> _options;
    private readonly ChannelWriter<Frame> _output;
    private readonly SteadyClock _clock;
    private readonly ClockShift _sinceLastRun;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly KeyValuePair<string, object?> _tag;

    /// <summary>The subscription's callbacks and the look at the clock take turns.</summary>
    private readonly Lock _gate = new();
    private readonly SubscriptionFrames _frames;
    private readonly ServerTime _server;
    private readonly LossMarks _losses = new();
    private readonly DateTime?[] _readAnew;
    private readonly List<ItemValue> _values = [];
    private ClockAnchor _anchor;
    private long _interruptedAt;
    private string? _interruption = NotYet;

    /// <summary>The last message was made up then or later.</summary>
    private long _madeUp;
    private long _messages;
    private long _interruptions;

    /// <param name="options">Made when the source starts, because certificates are read for them.</param>
    public OpcUaSubscriber(WasherConfiguration washer, Func<UaClientOptions> options, ChannelWriter<Frame> output, SteadyClock clock, ClockShift sinceLastRun, TimeProvider time, ILogger<OpcUaSubscriber> logger)
    {
        (_washer, _options, _output, _clock, _sinceLastRun, _time, _logger) = (washer, options, output, clock, sinceLastRun, time, logger);
        _tag = new KeyValuePair<string, object?>(Measures.Washer, washer.Model.Washer);
        _frames = new SubscriptionFrames(washer, OpcUaSettings.KeepAlive(washer), time.TimestampFrequency);
        _server = new ServerTime(time.TimestampFrequency);
        _readAnew = new DateTime?[washer.Tags.Count];
        _anchor = clock.Current();
        _interruptedAt = _madeUp = time.GetTimestamp();
        _frames.Begin(_madeUp);
    }

    public string Washer => _washer.Model.Washer;

    public string? Trouble => Volatile.Read(ref _interruption);

    /// <summary>All groups share one subscription: its messages and interruptions are those of each.</summary>
    public ReadCounts CountsOf(int group) => _washer.Groups.Any(g => g.Number == group) ? new(Interlocked.Read(ref _messages), Interlocked.Read(ref _interruptions)) : default;

    public async Task RunAsync(CancellationToken cancellation)
    {
        Write(ClockFrame(_sinceLastRun, "watching began"));
        try
        {
            await using var connection = UaConnection.Start(_options(), _logger, _time);
            await using var subscription = connection.Subscribe(OpcUaSettings.Subscription(_washer), this);
            using var look = new PeriodicTimer(LookEvery, _time);
            while (await look.WaitForNextTickAsync(cancellation))
            {
                Look(connection);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
        }
    }

    void ISubscriptionListener.OnNotification(in PublishedNotification notification)
    {
        lock (_gate)
        {
            TellClockSteps();
            if (_losses.Tells(notification))
            {
                OpcUaInstruments.Losses.Add(1, _tag);
                Lose("messages of the server were lost", notification.Received);
            }

            Take(notification);
            if (!notification.MoreFollows)
            {
                var wasRead = notification.Origin == NotificationOrigin.ReadAnew;
                var published = wasRead
                    ? new StampBounds(notification.Sent, notification.Received)
                    : Published(notification.PublishTime, notification.Sent, notification.Received);
                Publish(published, notification.Received, wasRead);
            }
        }
    }

    void ISubscriptionListener.OnKeepAlive(DateTime publishTime, long sent, long received)
    {
        lock (_gate)
        {
            TellClockSteps();
            Publish(Published(publishTime, sent, received), received);
        }
    }

    void ISubscriptionListener.OnItemChanged(in MonitoredItemState item)
    {
        var tag = _washer.Tags[(int)item.ClientHandle];
        lock (_gate)
        {
            if (item.Status.IsBad)
            {
                TagRefused(_logger, Washer, tag.Signal, tag.Source, item.Status);
                _frames.Refuse((int)item.ClientHandle, $"the server refuses it: {item.Status}");
            }
            else
            {
                _frames.Sample((int)item.ClientHandle, item.SamplingInterval);
            }
        }
    }

    void ISubscriptionListener.OnInterrupted(string reason, long stamp)
    {
        OpcUaInstruments.Interruptions.Add(1, _tag);
        Interlocked.Increment(ref _interruptions);
        lock (_gate)
        {
            (_interruption, _interruptedAt) = (reason, stamp);
        }
    }

    void ISubscriptionListener.OnResumed(bool continuous)
    {
        Connected(_logger, Washer, ((OpcUaConnection)_washer.Connection).Endpoint);
        lock (_gate)
        {
            if (!continuous)
            {
                TellClockSteps();
                Lose(_interruption ?? "the server forgot the subscription", _time.GetTimestamp());
                _losses.BeginAnew();
            }

            _interruption = null;
        }
    }

    void ISubscriptionListener.OnClockOffset(in ClockOffset offset)
    {
        OpcUaInstruments.ClockOffset.Record((offset.Lower + offset.Upper).TotalSeconds / 2, _tag);
        lock (_gate)
        {
            _server.Know(offset);
        }
    }

    private void Take(in PublishedNotification notification)
    {
        for (var i = 0; i < notification.Values.Count; i++)
        {
            var (handle, value) = notification.Values[i];
            if (handle >= _washer.Tags.Count || IsOutdated((int)handle, value, notification.Origin))
            {
                continue;
            }

            var tag = _washer.Tags[(int)handle];
            var source = _server.Place(value.SourceTimestamp ?? value.ServerTimestamp);
            _values.Add(new ItemValue((int)handle, ValueDecoder.Decode(tag, (OpcUaSource)tag.Source, value), source, value.Status.HasOverflow));
        }
    }

    /// <summary>A message that was on its way while a tag was read anew can tell what was before the reading.</summary>
    private bool IsOutdated(int tag, DataValue value, NotificationOrigin origin)
    {
        if (origin == NotificationOrigin.ReadAnew)
        {
            _readAnew[tag] = value.SourceTimestamp;
            return false;
        }

        if (_readAnew[tag] is { } read && value.SourceTimestamp < read)
        {
            return true;
        }

        _readAnew[tag] = null;
        return false;
    }

    private void Publish(StampBounds published, long received, bool wasRead = false)
    {
        Interlocked.Increment(ref _messages);
        OpcUaInstruments.Messages.Add(1, _tag);
        using var span = Traces.Poll(Washer, AllGroups);
        foreach (var frame in _frames.Publish(_values, published, received, _anchor, wasRead))
        {
            Traces.Tie(frame, span);
            Write(frame);
        }

        _values.Clear();
    }

    /// <summary>
    /// When a message was made up. Messages are made up in their order, each after its request was sent. When the one before arrived says nothing: it may have been
    /// long on its way, or have waited here, while the server made up the next.
    /// </summary>
    private StampBounds Published(DateTime publishTime, long sent, long received)
    {
        var published = _server.Published(publishTime, Math.Max(_madeUp, sent), received);
        _madeUp = published.Earliest;
        return published;
    }

    /// <summary>What was known counts no more, from when the last message was made up.</summary>
    private void Lose(string reason, long now)
    {
        // Before the first connection there is nothing to lose.
        if (reason != NotYet)
        {
            Fail(reason, now);
        }

        _values.Clear();
        _frames.Begin(_madeUp);
    }

    private void Fail(string reason, long now)
    {
        if (!_frames.IsDown)
        {
            Lost(_logger, Washer, reason);
        }

        foreach (var frame in _frames.Fail(reason, new StampBounds(Math.Min(_interruptedAt, now), now), _anchor))
        {
            Write(frame);
        }
    }

    /// <summary>Clock steps are told even when the server says nothing; so is an interruption that lasts.</summary>
    private void Look(UaConnection connection)
    {
        lock (_gate)
        {
            TellClockSteps();
            var now = _time.GetTimestamp();
            var error = connection.LastError?.Message;
            if (_interruption is { } reason && !_frames.IsDown && _time.GetElapsedTime(_interruptedAt, now) >= Patience && (error is not null || reason != NotYet))
            {
                Fail(error ?? reason, now);
            }
        }
    }

    private void TellClockSteps()
    {
        var current = _clock.Current();
        if (ReferenceEquals(current, _anchor))
        {
            return;
        }

        var shift = SteadyClock.Between(_anchor, current);
        _anchor = current;
        ClockStepped(_logger, Washer, shift.Shift);
        Write(ClockFrame(shift, "the wall clock was set"));
    }

    private Frame ClockFrame(ClockShift shift, string reason)
    {
        var now = StampBounds.At(_time.GetTimestamp());
        return new Frame { Washer = Washer, Group = 0, Kind = FrameKind.Clock, Read = now.On(_anchor), Clock = shift, Reason = reason };
    }

    /// <summary>Where the disk cannot keep up the subscription waits, and so at last does the server, whose queues are bounded too.</summary>
    private void Write(Frame frame)
    {
        if (!_output.TryWrite(frame))
        {
            _output.WriteAsync(frame).AsTask().GetAwaiter().GetResult();
        }
    }

    [LoggerMessage(EventId = 1001, Level = LogLevel.Information, Message = "{Washer}: connected to {Endpoint}")]
    private static partial void Connected(ILogger logger, string washer, Uri endpoint);

    [LoggerMessage(EventId = 1002, Level = LogLevel.Warning, Message = "{Washer}: cannot be read: {Reason}")]
    private static partial void Lost(ILogger logger, string washer, string reason);

    [LoggerMessage(EventId = 1003, Level = LogLevel.Warning, Message = "{Washer}: the wall clock was set by {Shift}")]
    private static partial void ClockStepped(ILogger logger, string washer, TimeSpan? shift);

    [LoggerMessage(EventId = 1004, Level = LogLevel.Warning, Message = "{Washer}: {Signal} cannot be read from {Source}: {Status}")]
    private static partial void TagRefused(ILogger logger, string washer, Signal signal, TagSource source, StatusCode status);
}
