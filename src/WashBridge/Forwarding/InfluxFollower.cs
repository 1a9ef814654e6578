using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;

namespace WashBridge.Forwarding;

/// <summary>
/// Forwards the historian's log to one InfluxDB server. The log is the only queue: the cursor moves after the server's yes, so an outage
/// is a longer read. What was sent but not confirmed is sent again, and is the same points again (see SCHEMA.md).
/// </summary>
internal sealed class InfluxFollower : IDisposable
{
    private readonly InfluxConfiguration _configuration;
    private readonly string _site;
    private readonly IHistorian _historian;
    private readonly HistorianSignal _signal;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly InfluxFollowerOptions _options;
    private readonly InfluxWriter _writer;
    private readonly InfluxDelivery _delivery;
    private readonly SetAsideFile _setAsideFile;
    private volatile InfluxFollowerStatus _status;
    private long _cursorMoved;
    private Task _moving = Task.CompletedTask;

    /// <param name="configuration">Where to, and whether with samples.</param>
    /// <param name="site">The site's id, a tag on every point.</param>
    /// <param name="historian">Read from, and told the cursor.</param>
    /// <param name="signal">Tells when there is more to read.</param>
    /// <param name="storePath">The historian's file; lines a server refuses are kept beside it.</param>
    /// <param name="time">The clock.</param>
    /// <param name="logger">Event ids 3100 to 3199.</param>
    /// <param name="options">Pace; null: the defaults.</param>
    /// <param name="transport">What sends requests; null: sockets.</param>
    public InfluxFollower(
        InfluxConfiguration configuration,
        string site,
        IHistorian historian,
        HistorianSignal signal,
        string storePath,
        TimeProvider time,
        ILogger<InfluxFollower> logger,
        InfluxFollowerOptions? options = null,
        HttpMessageHandler? transport = null)
    {
        (_configuration, _site, _historian, _signal, _time, _logger) = (configuration, site, historian, signal, time, logger);
        _options = options ?? new InfluxFollowerOptions();
        Name = NameOf(configuration);
        _writer = new InfluxWriter(configuration, time, transport);
        _delivery = new InfluxDelivery(Name, _writer, _options, time, logger);
        _setAsideFile = new SetAsideFile(SetAsidePath(storePath, configuration.Id), Name, time);
        _status = Resume();
        _cursorMoved = time.GetTimestamp();
    }

    /// <summary>As in the historian.</summary>
    public string Name { get; }

    public static string NameOf(InfluxConfiguration configuration) => $"influx/{configuration.Id}";

    /// <summary>What of the log it reads.</summary>
    public LogContent Content => _configuration.Samples ? LogContent.All : LogContent.Events;

    public InfluxFollowerStatus Status => _status with
    {
        Backlog = Math.Max(0, _signal.Last - _status.Cursor),
        Condition = _delivery.Condition,
    };

    public static string SetAsidePath(string storePath, string id) => $"{storePath}.{id}.rejected.jsonl";

    /// <summary>
    /// Runs until <paramref name="stop"/>. A request that is under way then is abandoned, and its lines are sent again by the next run.
    /// No failure of the server ends it; one of the historian does, for there is nothing left to follow.
    /// </summary>
    public async Task RunAsync(CancellationToken stop)
    {
        ForwardingLog.Following(_logger, Name, _status.Cursor, _historian.LastSequence - _status.Cursor);
        var lines = new LogLines(_historian, _site, _configuration.Samples, _status.Cursor, _options.MaxLines);
        var (batch, spare) = (new LineBatch(), new LineBatch());
        try
        {
            await Task.Run(() => lines.Fill(batch), stop);
            while (true)
            {
                await DeliverWhileReadingAsync(batch, lines, spare, stop);
                (batch, spare) = (spare, batch);
            }
        }
        catch (OperationCanceledException) when (stop.IsCancellationRequested)
        {
            // As asked.
        }
        finally
        {
            await _moving;
        }

        ForwardingLog.Stopped(_logger, Name, _status.Cursor);
    }

    public void Dispose() => _writer.Dispose();

    /// <summary>Delivers one batch and fills the next: meanwhile if the log has more, else once it has.</summary>
    private async Task DeliverWhileReadingAsync(LineBatch batch, LogLines lines, LineBatch next, CancellationToken stop)
    {
        var filled = _time.GetTimestamp();
        var reading = batch.IsFull ? Task.Run(() => lines.Fill(next), CancellationToken.None) : Task.CompletedTask;
        try
        {
            await DeliverAsync(batch, stop);
        }
        finally
        {
            // The buffers are this run's: nobody may still be writing into them when it ends.
            await reading;
        }

        if (!batch.IsFull)
        {
            await _signal.WaitAsync(lines.Position, stop);
            var rest = _options.Gather - _time.GetElapsedTime(filled);
            if (rest > TimeSpan.Zero)
            {
                await Task.Delay(rest, _time, stop);
            }

            await Task.Run(() => lines.Fill(next), stop);
        }
    }

    private async Task DeliverAsync(LineBatch batch, CancellationToken stop)
    {
        using var span = Traces.Follow("forward", Name, _signal.Trail, _status.Cursor, batch.Through);
        var setAside = new List<SetAsideLine>(batch.Inexpressible);
        for (var first = 0; first < batch.Count; first += _options.MaxLines)
        {
            await _delivery.DeliverAsync(batch, first, Math.Min(_options.MaxLines, batch.Count - first), setAside, stop);
        }

        await _moving;
        if (setAside.Count > 0)
        {
            await _delivery.KeepAsync(_setAsideFile, setAside, _status.Cursor, stop);
        }

        if (batch.OmittedFields > 0)
        {
            ForwardingLog.Omitted(_logger, Name, batch.OmittedFields);
        }

        _moving = MoveCursor(After(batch, setAside.Count));
        if (!batch.IsFull)
        {
            await _moving;
        }
    }

    /// <summary>How the follower stands once a batch is done with.</summary>
    private InfluxFollowerStatus After(LineBatch batch, int setAside)
    {
        var isIdle = batch.Count == 0 && batch.Inexpressible.Count == 0;
        if (isIdle)
        {
            return _time.GetElapsedTime(_cursorMoved) < _options.IdleCursor ? _status : _status with { Cursor = batch.Through };
        }

        return _status with
        {
            Cursor = batch.Through,
            LinesDelivered = _status.LinesDelivered + batch.Count - (setAside - batch.Inexpressible.Count),
            LastDelivery = _time.GetUtcNow(),
            LinesSetAside = _status.LinesSetAside + setAside,
            FieldsOmitted = _status.FieldsOmitted + batch.OmittedFields,
        };
    }

    /// <summary>Commits the cursor while the next request is already under way: should that be the end, a batch is sent again.</summary>
    private Task MoveCursor(InfluxFollowerStatus status) => status.Cursor == _status.Cursor ? Task.CompletedTask : Task.Run(() =>
    {
        var memory = JsonSerializer.Serialize(new InfluxFollowerMemory(status.LinesSetAside, status.FieldsOmitted), InfluxFollowerJson.Default.InfluxFollowerMemory);
        _historian.AppendEvents([], new FollowerState(Name, status.Cursor, memory));
        _status = status;
        _cursorMoved = _time.GetTimestamp();
        _setAsideFile.Forget();
    });

    private InfluxFollowerStatus Resume()
    {
        var saved = _historian.ReadFollower(Name);
        var memory = saved?.State is { } text ? JsonSerializer.Deserialize(text, InfluxFollowerJson.Default.InfluxFollowerMemory) : null;
        return new InfluxFollowerStatus
        {
            Follower = Name,
            Cursor = saved?.Sequence ?? 0,
            LinesSetAside = memory?.SetAside ?? 0,
            FieldsOmitted = memory?.Omitted ?? 0,
        };
    }
}

/// <summary>What a follower remembers besides its cursor.</summary>
internal sealed record InfluxFollowerMemory(long SetAside, long Omitted);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase)]
[JsonSerializable(typeof(InfluxFollowerMemory))]
internal sealed partial class InfluxFollowerJson : JsonSerializerContext;
