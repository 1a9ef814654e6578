using WashBridge.Core.Time;

namespace WashBridge.Core.Signals;

/// <summary>One reading of a quantity: at some moment within <paramref name="At"/> it had this value (within the dead band of its tag).</summary>
internal readonly record struct Reading(Edge At, double Value, bool IsGood);

/// <summary>Turns frames, which tell only what changed, into the readings that they stand for.</summary>
internal static class Readings
{
    /// <summary>
    /// Readings of a signal in order: the station's own where it has one, else the washer's. A frame that does not list the signal
    /// says that it was read and held its value; a failed frame says nothing. Empty when no frame ever listed it.
    /// </summary>
    public static IReadOnlyList<Reading> Of(IReadOnlyList<Frame> frames, string washer, int station, string name, SteadyLine line)
    {
        var own = Of(frames, line, s => s.Washer == washer && s.Station == station && s.Name == name);
        return own.Count > 0 || station == 0 ? own : Of(frames, line, s => s.Washer == washer && s.Station == 0 && s.Name == name);
    }

    private static List<Reading> Of(IReadOnlyList<Frame> frames, SteadyLine line, Func<Signal, bool> isIt)
    {
        var readings = new List<Reading>();
        int? group = null;
        Sample? held = null;
        for (var i = 0; i < frames.Count; i++)
        {
            var frame = frames[i];
            if (frame.Kind is FrameKind.Failed or FrameKind.Clock)
            {
                continue;
            }

            if (Find(frame.Samples, isIt) is { } sample)
            {
                (group, held) = (frame.Group, sample);
                Add(readings, line.Place(i, sample.At), sample);
            }
            else if (frame.Group == group && held is { } value)
            {
                // A full frame lists all that the group has: what it does not list is no longer read.
                held = frame.Kind == FrameKind.Full ? null : held;
                if (held is not null)
                {
                    Add(readings, line.Place(i, frame.Read), value);
                }
            }
        }

        return readings;
    }

    private static Sample? Find(IReadOnlyList<Sample> samples, Func<Signal, bool> isIt)
    {
        for (var i = samples.Count - 1; i >= 0; i--)
        {
            if (isIt(samples[i].Signal))
            {
                return samples[i];
            }
        }

        return null;
    }

    /// <summary>A reading that claims to be older than the one before it cannot be placed: it is kept, but proves nothing.</summary>
    private static void Add(List<Reading> readings, Edge at, Sample sample)
    {
        var placed = new Edge(SteadyLine.Min(at.Earliest, at.Latest), SteadyLine.Max(at.Earliest, at.Latest));
        if (readings.Count > 0)
        {
            var before = readings[^1].At;
            placed = new Edge(SteadyLine.Max(placed.Earliest, before.Earliest), SteadyLine.Max(placed.Latest, before.Latest));
        }

        var isGood = placed == at && sample.Quality == Quality.Good && double.IsFinite(sample.Value.Number);
        readings.Add(new Reading(placed, sample.Value.Number, isGood));
    }
}
