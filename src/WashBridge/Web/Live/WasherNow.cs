using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Web.Live;

/// <summary>One washer as it stands now.</summary>
public sealed class WasherNow
{
    private readonly WasherConfiguration _configuration;
    private readonly HashSet<int> _lostGroups = [];
    private StationNow[] _stations;

    internal WasherNow(WasherConfiguration configuration)
    {
        _configuration = configuration;
        _stations = [.. Enumerable.Range(1, configuration.Model.Stations).Select(n => new StationNow(n))];
    }

    public string Id => _configuration.Model.Washer;

    public string Title => _configuration.Title.Length > 0 ? _configuration.Title : Id;

    internal WasherConfiguration Configuration => _configuration;

    public IReadOnlyList<StationNow> Stations => _stations;

    /// <summary>Null: none runs.</summary>
    public CycleStarted? Cycle { get; private set; }

    /// <summary>The step that runs; null between cycles.</summary>
    public StepStarted? Step { get; private set; }

    /// <summary>When the phase of <see cref="Step"/> began.</summary>
    public Edge? PhaseStart { get; private set; }

    public bool IsPaused { get; private set; }

    /// <summary>How the last cycle ended.</summary>
    public CycleRecord? LastCycle { get; private set; }

    /// <summary>The controller says that the programme stopped with a fault.</summary>
    public bool HasFault { get; private set; }

    /// <summary>When something was read last; null: never since the start.</summary>
    public Instant? LastRead { get; private set; }

    /// <summary>Why it cannot be read; null: it can.</summary>
    public string? LostReason { get; private set; }

    public Instant? LostSince { get; private set; }

    /// <summary>The latest sample of each signal.</summary>
    public Dictionary<Signal, Sample> Samples { get; private init; } = [];

    public void Take(Frame frame)
    {
        if (frame.Kind == FrameKind.Failed)
        {
            return;
        }

        LastRead = LastRead is { } last ? Instant.Max(last, frame.Read.Latest) : frame.Read.Latest;
        foreach (var sample in frame.Samples)
        {
            Samples[sample.Signal] = sample;
            if (sample.Signal.Name == "sequence.fault" && sample.Quality == Quality.Good)
            {
                HasFault = sample.Value.IsSet;
            }
        }
    }

    public void Take(WashEvent washEvent)
    {
        switch (washEvent)
        {
            case CycleStarted started:
                (Cycle, Step, PhaseStart, IsPaused) = (started, null, null, false);
                break;
            case StepStarted step:
                PhaseStart = Step is { } before && before.Phase == step.Phase && before.CycleId == step.CycleId ? PhaseStart : step.Edge;
                Step = step;
                break;
            case CyclePaused:
                IsPaused = true;
                break;
            case CycleResumed:
                IsPaused = false;
                break;
            case CycleEnded ended:
                (LastCycle, Cycle, Step, PhaseStart, IsPaused) = (ended.Cycle, null, null, null, false);
                break;
            case KegScanned scanned when Station(scanned.Station) is { } station:
                _stations[station.Number - 1] = station with { Scanned = scanned };
                break;
            case KegJudged judged when Station(judged.Verdict.Station) is { } station:
                _stations[station.Number - 1] = station with { Last = judged, Scanned = station.Scanned is { } scan && scan.At.Latest > judged.At.Latest ? scan : null };
                break;
            case DrainMeasured drain when Station(drain.Station) is { } station:
                _stations[station.Number - 1] = station with { LastDrain = drain.Drain };
                break;
            case SourceLost lost:
                _lostGroups.Add(lost.Group);
                (LostReason, LostSince) = (lost.Reason, LostSince ?? lost.At.Latest);
                break;
            case SourceRestored restored:
                _lostGroups.Remove(restored.Group);
                if (_lostGroups.Count == 0)
                {
                    (LostReason, LostSince) = (null, null);
                }

                break;
            default:
                break;
        }
    }

    public WasherNow Copy()
    {
        var copy = new WasherNow(_configuration)
        {
            _stations = [.. _stations],
            Cycle = Cycle,
            Step = Step,
            PhaseStart = PhaseStart,
            IsPaused = IsPaused,
            LastCycle = LastCycle,
            HasFault = HasFault,
            LastRead = LastRead,
            LostReason = LostReason,
            LostSince = LostSince,
            Samples = new Dictionary<Signal, Sample>(Samples),
        };
        copy._lostGroups.UnionWith(_lostGroups);
        return copy;
    }

    private StationNow? Station(int number) => number >= 1 && number <= _stations.Length ? _stations[number - 1] : null;
}

/// <summary>One station as it stands now.</summary>
/// <param name="Number">From 1.</param>
public sealed record StationNow(int Number)
{
    /// <summary>The keg that was scanned and is not judged yet.</summary>
    public KegScanned? Scanned { get; init; }

    /// <summary>The last keg's verdict.</summary>
    public KegJudged? Last { get; init; }

    public DrainRecord? LastDrain { get; init; }
}
