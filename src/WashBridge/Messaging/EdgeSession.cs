using System.Reflection;
using System.Text.Encodings.Web;
using System.Text.Json;
using WashBridge.Configuration;
using WashBridge.Telemetry;

namespace WashBridge.Messaging;

/// <summary>
/// One session of the edge node with a broker: from CONNECT, with the death certificate as the will, over the birth certificates to the end. It numbers its messages and
/// hears commands; it knows nothing of the log.
/// </summary>
internal sealed class EdgeSession : IAsyncDisposable
{
    /// <summary>So that a message stays small; a birth certificate is one message by definition.</summary>
    private const int MaxMetrics = 500;

    private static readonly JsonSerializerOptions StateJson = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private readonly MqttConfiguration _configuration;
    private readonly Site _site;
    private readonly IMqttLink _link;
    private readonly long _bdSeq;
    private readonly PrimaryHost _host;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly string _follower;
    private readonly Action _wake;
    private byte _sequence;
    private int _ignored;
    private volatile string? _lost;
    private volatile bool _rebirth;

    /// <param name="wake">Called when something came in that the follower has to know.</param>
    public EdgeSession(MqttConfiguration configuration, Site site, IMqttLink link, long bdSeq, PrimaryHost host, TimeProvider time, ILogger logger, string follower, Action wake)
    {
        (_configuration, _site, _link, _bdSeq, _host, _time, _logger, _follower, _wake) = (configuration, site, link, bdSeq, host, time, logger, follower, wake);
        host.BeginAnew();
    }

    /// <summary>A host wants to be told everything again.</summary>
    public bool IsRebirthWanted => _rebirth;

    public bool IsHostOffline
    {
        get
        {
            lock (_host)
            {
                return _configuration.PrimaryHost is not null && !_host.IsOnline;
            }
        }
    }

    /// <summary>The connection and the subscriptions. Nothing is published before the host, where one is named, is online (5.4).</summary>
    public async Task OpenAsync(CancellationToken cancellation)
    {
        await _link.ConnectAsync(Death(), Receive, reason => Wake(() => _lost = reason), cancellation);
        List<string> topics = [Topic("NCMD"), $"{Topic("DCMD")}/+"];
        if (_configuration.PrimaryHost is { } host)
        {
            topics.Add($"spBv1.0/STATE/{host}");
        }

        await _link.SubscribeAsync(topics, cancellation);
    }

    /// <exception cref="MqttLinkException">The connection is lost.</exception>
    public void ThrowIfLost()
    {
        if (_lost is { } reason)
        {
            throw new MqttLinkException(MqttFailure.Unreachable, $"the connection to {_configuration.Address} is lost: {reason}");
        }
    }

    /// <summary>The node's birth certificate and those of all washers that are read (5.4; 6.4.20). What happened before is part of it and needs no message any more, but for history.</summary>
    public async Task BirthAsync(IReadOnlyList<Device> devices, CancellationToken cancellation)
    {
        _rebirth = false;
        _sequence = 0;
        var now = Now;
        List<SparkplugMetric> metrics =
        [
            new("bdSeq", null, SparkplugType.Int64, _bdSeq, now) { TellsType = true },
            new(SparkplugCommand.Rebirth, null, SparkplugType.Boolean, false, now) { TellsType = true },
            .. new[] { ("Site/Id", _site.Id), ("Site/Title", _site.Title), ("Properties/Version", Version) }.Select((p, i) => new SparkplugMetric(p.Item1, (ulong)i + 1, SparkplugType.String, p.Item2, now) { TellsType = true }),
        ];
        await PublishAsync("NBIRTH", null, metrics, cancellation);
        foreach (var device in devices)
        {
            device.IsBorn = false;
            if (device.Present.IsRead)
            {
                await BirthAsync(device, cancellation);
            }
            else
            {
                await TellStateAsync(device, cancellation);
            }
        }
    }

    public async Task BirthAsync(Device device, CancellationToken cancellation)
    {
        var now = Now;
        var metrics = device.Present.Values.Select((value, i) =>
        {
            var definition = device.Present.Definitions[i];
            return new SparkplugMetric(definition.Name, device.Alias(i), definition.Type, value.Value, value.At == 0 ? now : value.At) { TellsType = true, Unit = value.Unit };
        });

        // Oldest first, as 6.4.20 asks for.
        await PublishAsync("DBIRTH", device, metrics.OrderBy(m => m.At), cancellation);
        device.IsBorn = true;
        await TellStateAsync(device, cancellation);
    }

    /// <summary>The washer is not read any more.</summary>
    public async Task DieAsync(Device device, CancellationToken cancellation)
    {
        await PublishAsync("DDEATH", device, [], cancellation);
        device.IsBorn = false;
        await TellStateAsync(device, cancellation);
    }

    /// <summary>Tells changes in their order, in as many messages as it needs: within one, no metric has a value that is not later than its value before.</summary>
    public async Task TellAsync(Device device, IEnumerable<MetricChange> changes, bool isHistorical, CancellationToken cancellation)
    {
        var message = new List<SparkplugMetric>();
        var last = new Dictionary<int, long>();
        foreach (var change in changes)
        {
            if (message.Count >= MaxMetrics || (last.TryGetValue(change.Metric, out var before) && change.Value.At <= before))
            {
                await SendAsync();
            }

            var definition = device.Present.Definitions[change.Metric];
            message.Add(new SparkplugMetric(null, device.Alias(change.Metric), definition.Type, change.Value.Value, change.Value.At)
            {
                IsHistorical = isHistorical,
                Unit = definition.Unit.Length > 0 ? "" : change.Value.Unit,
            });
            last[change.Metric] = change.Value.At;
        }

        if (message.Count > 0)
        {
            await SendAsync();
        }

        async Task SendAsync()
        {
            await PublishAsync("DDATA", device, message.OrderBy(m => m.At), cancellation);
            message.Clear();
            last.Clear();
        }
    }

    /// <summary>The plain retained JSON, where the site wants it.</summary>
    public async Task TellStateAsync(Device device, CancellationToken cancellation)
    {
        if (_configuration.StateTopics)
        {
            await HandOverAsync("STATE", new MqttMessage($"washbridge/{_site.Id}/{device.Id}/state", WriteState(device), AtLeastOnce: true, Retain: true), cancellation);
        }
    }

    /// <summary>Returns when the broker has all that was published.</summary>
    public async Task ConfirmAsync(CancellationToken cancellation)
    {
        ThrowIfLost();
        await _link.ConfirmAsync(cancellation);
    }

    /// <summary>An end as meant: the death certificate, then DISCONNECT (5.5).</summary>
    public async Task CloseAsync(CancellationToken cancellation)
    {
        await HandOverAsync("NDEATH", Death(), cancellation);
        await _link.DisconnectAsync(cancellation);
    }

    public ValueTask DisposeAsync() => _link.DisposeAsync();

    private static string Version { get; } = Assembly.GetExecutingAssembly().GetName().Version?.ToString(3) ?? "";

    private long Now => _time.GetUtcNow().ToUnixTimeMilliseconds();

    private string Topic(string kind) => $"spBv1.0/{_configuration.Group}/{kind}/{_configuration.EdgeNode}";

    /// <summary>QoS 1, not retained, no sequence number (6.4.25).</summary>
    private MqttMessage Death() =>
        new(Topic("NDEATH"), SparkplugPayload.Write([new SparkplugMetric("bdSeq", null, SparkplugType.Int64, _bdSeq, Now) { TellsType = true }], Now, null), AtLeastOnce: true);

    private Task PublishAsync(string kind, Device? device, IEnumerable<SparkplugMetric> metrics, CancellationToken cancellation)
    {
        ThrowIfLost();
        var topic = device is null ? Topic(kind) : $"{Topic(kind)}/{device.Id}";
        return HandOverAsync(kind, new MqttMessage(topic, SparkplugPayload.Write(metrics, Now, _sequence++)), cancellation);
    }

    private async Task HandOverAsync(string kind, MqttMessage message, CancellationToken cancellation)
    {
        await _link.PublishAsync(message, cancellation);
        MqttInstruments.Published(_follower, kind);
    }

    private void Receive(string topic, byte[] payload)
    {
        if (topic == $"spBv1.0/STATE/{_configuration.PrimaryHost}")
        {
            lock (_host)
            {
                if (!_host.Take(payload))
                {
                    MessagingLog.StateIgnored(_logger, _follower, topic);
                }
            }

            Wake(() => { });
        }
        else if (topic == Topic("NCMD") && SparkplugCommand.Read(payload) is { } command)
        {
            if (command.Ignored.Count > 0 || !command.AsksForRebirth)
            {
                Ignore(topic, command.Ignored);
            }

            if (command.AsksForRebirth)
            {
                MessagingLog.Rebirth(_logger, _follower);
                Wake(() => _rebirth = true);
            }
        }
        else
        {
            // A command to a washer is not even looked into.
            Ignore(topic, []);
        }
    }

    /// <summary>Whoever may publish must not be able to fill the log: of many only 1, 2, 4, 8 ... are told.</summary>
    private void Ignore(string topic, IReadOnlyList<string> names)
    {
        if (int.IsPow2(++_ignored))
        {
            MessagingLog.CommandIgnored(_logger, _follower, SparkplugCommand.Printable(topic), string.Join(", ", names), _ignored);
        }
    }

    private void Wake(Action change)
    {
        change();
        _wake();
    }

    private byte[] WriteState(Device device)
    {
        var metrics = device.Present.Definitions.Zip(device.Present.Values).ToDictionary(
            p => p.First.Name,
            p => p.First.Type == SparkplugType.DateTime && p.Second.Value is long at ? DateTimeOffset.FromUnixTimeMilliseconds(at).UtcDateTime : p.Second.Value);
        return JsonSerializer.SerializeToUtf8Bytes(new Dictionary<string, object?> { ["site"] = _site.Id, ["washer"] = device.Id, ["read"] = device.Present.IsRead, ["metrics"] = metrics }, StateJson);
    }
}
