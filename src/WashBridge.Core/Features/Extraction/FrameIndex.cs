using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Features.Extraction;

/// <summary>The frames of a cycle by signal, made in one pass: what each report says and when each group was read.</summary>
internal sealed class FrameIndex
{
    private readonly Dictionary<(int Station, string Name), Track> _tracks = [];
    private readonly Dictionary<Signal, Track?> _bySignal = new(ReferenceEqualityComparer.Instance);
    private readonly GroupReads?[] _groups = new GroupReads?[256];
    private readonly List<Stamp> _failures = [];
    private readonly string _washer;
    private readonly Func<Signal, double>? _deadBand;

    public FrameIndex(IReadOnlyList<Frame> frames, string washer, SteadyLine line, Func<Signal, double>? deadBand)
    {
        _washer = washer;
        _deadBand = deadBand;
        for (var i = 0; i < frames.Count; i++)
        {
            var frame = frames[i];
            if (frame.Kind is FrameKind.Failed or FrameKind.Clock)
            {
                Miss();
            }

            if (frame.Kind == FrameKind.Failed)
            {
                _failures.Add(Ordered(line.Place(i, frame.Read)));
            }
            else if (frame.Kind != FrameKind.Clock && (uint)frame.Group < _groups.Length)
            {
                Add(frame, i, line);
            }
        }
    }

    /// <summary>A read failed within the window: the controller may have been away, with all its valves shut.</summary>
    public bool HasFailure(Window window)
    {
        foreach (var failure in _failures)
        {
            if (failure.Epoch == window.Epoch && failure.Latest > window.From && failure.Earliest < window.To)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>The station's own signal, or else the washer's; null where there is neither.</summary>
    public Track? Find(int station, string name) => Own(station, name) ?? (station == 0 ? null : Own(0, name));

    public Track? Own(int station, string name) => _tracks.GetValueOrDefault((station, name));

    private void Miss()
    {
        foreach (var group in _groups)
        {
            group?.Miss();
        }
    }

    private void Add(Frame frame, int index, SteadyLine line)
    {
        var group = _groups[frame.Group] ??= new GroupReads();
        var read = group.Count;
        var at = Ordered(line.Place(index, frame.Read));
        group.Add(at);
        var samples = frame.Samples;
        for (var i = 0; i < samples.Count; i++)
        {
            var sample = samples[i];
            if (TrackOf(sample.Signal, group) is { } track)
            {
                var own = sample.At == frame.Read ? at : Ordered(line.Place(index, sample.At));
                var isGood = sample.Quality == Quality.Good && double.IsFinite(sample.Value.Number);
                track.Add(read, own, sample.Value.Number, isGood, frame.Kind == FrameKind.Changes);
            }
        }

        if (frame.Kind == FrameKind.Full)
        {
            foreach (var track in group.Tracks)
            {
                track.EndUnlessListed(read, at);
            }
        }
    }

    private Track? TrackOf(Signal signal, GroupReads group)
    {
        if (!_bySignal.TryGetValue(signal, out var track))
        {
            _bySignal[signal] = track = signal.Washer != _washer || signal.Type == SignalType.Text ? null : _tracks.GetValueOrDefault((signal.Station, signal.Name)) ?? New(signal, group);
        }

        // A signal that changes its group, as after a new configuration, begins anew.
        return track is null || track.Group == group ? track : _bySignal[signal] = New(signal, group);
    }

    private Track New(Signal signal, GroupReads group)
    {
        var track = new Track(signal, group) { KnownDeadBand = _deadBand?.Invoke(signal) };
        _tracks[(signal.Station, signal.Name)] = track;
        group.Tracks.Add(track);
        return track;
    }

    private static Stamp Ordered(Edge edge)
    {
        var stamp = Stamp.Of(edge);
        return stamp.Earliest <= stamp.Latest ? stamp : new Stamp(stamp.Epoch, stamp.Latest, stamp.Earliest);
    }
}
