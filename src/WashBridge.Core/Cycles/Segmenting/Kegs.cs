namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>What is known of the kegs of a cycle: present if it was so at any time, and the last id that was read.</summary>
internal sealed class Kegs(WasherModel model, SegmenterState state)
{
    public const string PresentName = "keg.present";
    public const string IdName = "keg.id";

    private readonly SignalState[] _signals = [.. state.Signals.Where(s => s.Name is PresentName or IdName)];

    public List<OpenStation> AtStart()
    {
        var stations = Enumerable.Range(1, model.Stations).Select(s => new OpenStation { Station = s }).ToList();
        TakeAll(stations);
        return stations;
    }

    /// <summary>The cycle goes on after a gap, in which ids were not taken for its own.</summary>
    public void CatchUp() => TakeAll(state.Cycle!.Stations);

    public void Take(SignalState signal)
    {
        if (state.Cycle is { } cycle)
        {
            Take(signal, cycle.Stations);
        }
    }

    private void TakeAll(List<OpenStation> stations)
    {
        foreach (var signal in _signals)
        {
            if (signal.IsGood && state.GroupOf(signal) is { IsReadable: true })
            {
                Take(signal, stations);
            }
        }
    }

    private static void Take(SignalState signal, List<OpenStation> stations)
    {
        if (stations.Find(s => s.Station == signal.Station) is not { } station)
        {
            return;
        }

        if (signal.Name == PresentName)
        {
            station.KegPresent = station.KegPresent == true || signal.IsSet;
        }
        else if ((signal.Text ?? signal.Number?.ToString("R")) is { Length: > 0 } id)
        {
            station.KegTag = id;
        }
    }
}
