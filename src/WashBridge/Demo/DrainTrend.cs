using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Reporting;

namespace WashBridge.Demo;

/// <summary>Compares each station's slowest drain with that of its first cycle, and says that it is longer only where the bounds leave no doubt.</summary>
internal sealed class DrainTrend
{
    private readonly Dictionary<(string Washer, int Station), DurationBounds> _first = [];

    public IEnumerable<string> Lines(CycleRecord cycle)
    {
        foreach (var station in cycle.Stations)
        {
            if (Words.SlowestDrain(station) is not { } drain || (drain.Shared && station.Station > 1))
            {
                continue;
            }

            var where = drain.Shared ? "slowest drain" : $"slowest drain at station {station.Station}";
            yield return $"  {where}: {Words.Of(drain.Time)} ({drain.Phase}){Change((cycle.Washer, station.Station), drain.Time)}";
        }
    }

    private string Change((string Washer, int Station) place, DurationBounds time)
    {
        if (!time.IsUpperKnown || _first.TryAdd(place, time))
        {
            return "";
        }

        var first = _first[place];
        return time.Lower > first.Upper
            ? $", longer than in the first cycle by {Words.Of(new DurationBounds(time.Lower - first.Upper, time.Upper - first.Lower))}"
            : "";
    }
}
