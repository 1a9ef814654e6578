using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Reporting;

namespace WashBridge.Web.Trends;

/// <summary>What the analysis has found so far, as pages show it.</summary>
/// <param name="Drifts">In the order in which they were found; of those that ended the latest.</param>
/// <param name="Forecasts">The last of each component, those that come first foremost.</param>
/// <param name="Deviations">Settings that left the recipe; of those that came back the latest.</param>
/// <param name="Scores">How forecasts stood against what happened, the latest last.</param>
internal sealed record Findings(IReadOnlyList<DriftLine> Drifts, IReadOnlyList<ForecastLine> Forecasts, IReadOnlyList<DeviationLine> Deviations, IReadOnlyList<ForecastScored> Scores)
{
    public ForecastLine? ForecastOf(string washer, string component) => Forecasts.FirstOrDefault(l => l.Made.Washer == washer && l.Forecast.Component.Key == component);

    public DriftLine? DriftOf(string washer, string figure) => Drifts.LastOrDefault(l => l.Found.Washer == washer && l.Finding.Feature == figure);
}

/// <summary>A fold of all findings of the log, kept in memory, so that no page reads years of them. Bounded: what ended long ago is dropped.</summary>
internal sealed class FindingsBoard(IHistorian historian, HistorianSignal signal) : BackgroundService
{
    private const int BatchSize = 4096;
    private const int MostEnded = 500;
    private const int MostScores = 500;
    private const int MostForecasts = 2000;

    private static readonly string[] Kinds = ["drift-found", "drift-ended", "setpoint-deviated", "setpoint-conformed", "forecast-made", "forecast-scored"];

    private readonly Lock _gate = new();
    private readonly DriftFold _drifts = new(MostEnded);
    private readonly DeviationFold _deviations = new(MostEnded);
    private readonly Dictionary<(string Washer, string Component), List<ForecastMade>> _forecasts = [];
    private readonly Queue<ForecastScored> _scores = new();
    private HashSet<string>? _recalled;
    private long _cursor = -1;
    private Findings? _findings;

    /// <summary>A picture of one moment, which does not change any more.</summary>
    public Findings Findings
    {
        get
        {
            lock (_gate)
            {
                CatchUp();
                return _findings ??= new Findings([.. _drifts.Lines], ForecastLine.InOrder(_forecasts.Values.Select(ForecastLine.OfOne)), [.. _deviations.Lines], [.. _scores]);
            }
        }
    }

    /// <summary>Follows, so that the first reader need not wait for years of findings.</summary>
    protected override Task ExecuteAsync(CancellationToken stoppingToken) => Task.Run(
        async () =>
        {
            while (!stoppingToken.IsCancellationRequested)
            {
                var seen = signal.Last;
                lock (_gate)
                {
                    CatchUp();
                }

                await signal.WaitAsync(seen, stoppingToken).AsTask().ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
            }
        },
        stoppingToken);

    private void CatchUp()
    {
        if (_cursor < 0)
        {
            Recall();
        }

        // Looked at before, because the log may grow meanwhile: what comes after is read the next time.
        var last = historian.LastSequence;
        while (historian.ReadEventLog(_cursor, BatchSize, Kinds) is { Count: > 0 } entries)
        {
            foreach (var entry in entries.Where(e => _recalled?.Contains(e.Event!.Id) != true))
            {
                Take(entry.Event!);
            }

            _cursor = entries[^1].Sequence;
        }

        _cursor = Math.Max(_cursor, last);
        _recalled = null;
    }

    /// <summary>All at once by kind, which does not look at the millions of other events.</summary>
    private void Recall()
    {
        _cursor = historian.LastSequence;
        var events = historian.ReadEvents(new EventQuery { Kinds = Kinds });
        _recalled = [.. events.TakeLast(BatchSize).Select(e => e.Id)];
        foreach (var each in events)
        {
            Take(each);
        }
    }

    private void Take(WashEvent found)
    {
        _findings = null;
        switch (found)
        {
            case ForecastMade made:
                Take(made);
                break;
            case ForecastScored scored:
                _scores.Enqueue(scored);
                if (_scores.Count > MostScores)
                {
                    _scores.Dequeue();
                }

                break;
            case var other:
                _ = _drifts.Take(other) || _deviations.Take(other);
                break;
        }
    }

    /// <summary>Only those since the reference began belong together; of very many every second is enough for a picture.</summary>
    private void Take(ForecastMade made)
    {
        var key = (made.Washer, made.Forecast.Component.Key);
        var before = _forecasts.GetValueOrDefault(key) ?? (_forecasts[key] = []);
        if (before.Count > 0 && before[^1].Forecast.Cycles > made.Forecast.Cycles)
        {
            before.Clear();
        }

        before.Add(made);
        if (before.Count > MostForecasts)
        {
            _forecasts[key] = [.. before.Where((_, i) => i % 2 == before.Count % 2)];
        }
    }
}
