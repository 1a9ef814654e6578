using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Forwarding;

/// <summary>What came of sending a period again.</summary>
/// <param name="Lines">That the server took.</param>
/// <param name="SetAside">That it refused, or that line protocol cannot express, with the reason.</param>
internal sealed record BackfillResult(long Lines, IReadOnlyList<SetAsideLine> SetAside);

/// <summary>
/// Sends a period of the historian to a server, whatever its follower has sent before. The points follow from the content alone (SCHEMA.md), so that a point that the server has
/// already is that point again. The follower's cursor stays where it is.
/// </summary>
internal sealed class Backfill : IDisposable
{
    /// <summary>What is read at a time: an hour of 20 washers is some 100 MB in memory.</summary>
    private static readonly TimeSpan Part = TimeSpan.FromHours(1);

    /// <summary>A frame belongs to the part in which its read ended; none takes longer than this.</summary>
    private static readonly TimeSpan LongestRead = TimeSpan.FromMinutes(10);

    private readonly IHistorianReader _historian;
    private readonly bool _samples;
    private readonly InfluxFollowerOptions _options;
    private readonly InfluxWriter _writer;
    private readonly InfluxDelivery _delivery;
    private readonly EventPoints _events;
    private readonly SamplePoints _points;
    private readonly LineBatch _batch = new();
    private readonly List<SetAsideLine> _setAside = [];
    private long _lines;

    /// <param name="configuration">Where to, and whether with samples.</param>
    /// <param name="site">The site's id, a tag on every point.</param>
    /// <param name="historian">Read from; a service may be writing to it.</param>
    /// <param name="time">The clock.</param>
    /// <param name="logger">Hears of waits.</param>
    /// <param name="options">Pace; null: the defaults. What will not pass by itself always ends it.</param>
    /// <param name="transport">What sends requests; null: sockets.</param>
    public Backfill(InfluxConfiguration configuration, string site, IHistorianReader historian, TimeProvider time, ILogger logger, InfluxFollowerOptions? options = null, HttpMessageHandler? transport = null)
    {
        (_historian, _samples, _events, _points) = (historian, configuration.Samples, new EventPoints(site), new SamplePoints(site));
        _options = (options ?? new InfluxFollowerOptions()) with { GivesUp = true };
        _writer = new InfluxWriter(configuration, time, transport);
        _delivery = new InfluxDelivery($"influx/{configuration.Id}", _writer, _options, time, logger);
    }

    /// <summary>Events whose latest instant lies within [from, until), and samples of reads that ended there.</summary>
    /// <exception cref="InfluxWriteException">The server will not take anything until somebody acts. What was sent stays sent.</exception>
    /// <exception cref="OperationCanceledException">Stopped; what was sent stays sent.</exception>
    public async Task<BackfillResult> RunAsync(Instant from, Instant until, IProgress<HistorianProgress>? progress, CancellationToken stop)
    {
        _batch.Clear(0);
        for (var part = from; part < until; part += Part)
        {
            var end = Instant.Min(part + Part, until);
            foreach (var entry in Read(part, end))
            {
                if (entry.Event is { } washEvent)
                {
                    _events.Append(entry.Sequence, washEvent, _batch);
                }
                else
                {
                    _points.Append(entry.Sequence, entry.Frame!, _batch);
                }

                if (_batch.Count >= _options.MaxLines)
                {
                    await DeliverAsync(stop);
                }
            }

            stop.ThrowIfCancellationRequested();
            progress?.Report(new HistorianProgress((end - from).Ticks, (until - from).Ticks));
        }

        await DeliverAsync(stop);
        return new BackfillResult(_lines, _setAside);
    }

    public void Dispose() => _writer.Dispose();

    private IEnumerable<LogEntry> Read(Instant from, Instant until)
    {
        var events = _historian.ReadEventLog(new EventQuery { From = from, Until = until }).Where(e => Within(e.Event!.At.Latest));
        return _samples
            ? events.Concat(_historian.Signals.Select(s => s.Washer).Distinct(StringComparer.Ordinal)
                .SelectMany(washer => _historian.ReadFrameLog(washer, from - LongestRead, until))
                .Where(e => Within(e.Frame!.Read.Latest)))
            : events;

        bool Within(Instant at) => at >= from && at < until;
    }

    private async Task DeliverAsync(CancellationToken stop)
    {
        _setAside.AddRange(_batch.Inexpressible);
        for (var first = 0; first < _batch.Count; first += _options.MaxLines)
        {
            var refused = new List<SetAsideLine>();
            var count = Math.Min(_options.MaxLines, _batch.Count - first);
            await _delivery.DeliverAsync(_batch, first, count, refused, stop);
            _lines += count - refused.Count;
            _setAside.AddRange(refused);
        }

        _batch.Clear(0);
    }
}
