using WashBridge.Core.Cycles;

namespace WashBridge.Reporting;

/// <summary>Drifts from their first telling to their end, event by event.</summary>
/// <param name="mostEnded">So many that ended are kept, the latest; null: all.</param>
internal sealed class DriftFold(int? mostEnded = null)
{
    private readonly List<DriftLine> _lines = [];

    /// <summary>In the order in which they were found.</summary>
    public IReadOnlyList<DriftLine> Lines => _lines;

    /// <returns>Whether it was about drifts.</returns>
    public bool Take(WashEvent finding)
    {
        switch (finding)
        {
            case DriftFound found when Open(found.Washer, found.Finding.Feature) is { } index:
                _lines[index] = _lines[index] with { Found = found };
                return true;
            case DriftFound found:
                _lines.Add(new DriftLine(found, found.At.Latest, null));
                return true;
            case DriftEnded ended when Open(ended.Washer, ended.Feature) is { } index:
                _lines[index] = _lines[index] with { Ended = ended };
                DropOldest();
                return true;
            default:
                return false;
        }
    }

    private int? Open(string washer, string feature) => _lines.FindLastIndex(l => l.Ended is null && l.Found.Washer == washer && l.Finding.Feature == feature) is >= 0 and var index ? index : null;

    private void DropOldest()
    {
        if (mostEnded is { } most && _lines.Count(l => l.Ended is not null) > most)
        {
            _lines.RemoveAt(_lines.FindIndex(l => l.Ended is not null));
        }
    }
}

/// <summary>Settings that left the recipe, from then until they came back, event by event.</summary>
/// <inheritdoc cref="DriftFold"/>
internal sealed class DeviationFold(int? mostEnded = null)
{
    private readonly List<DeviationLine> _lines = [];

    public IReadOnlyList<DeviationLine> Lines => _lines;

    /// <returns>Whether it was about settings.</returns>
    public bool Take(WashEvent finding)
    {
        switch (finding)
        {
            case SetpointDeviated deviated:
                End(deviated.Washer, deviated.Finding.Setpoint, deviated);
                _lines.Add(new DeviationLine(deviated.Washer, deviated.Finding, deviated.At.Latest, null));
                return true;
            case SetpointConformed conformed:
                End(conformed.Washer, conformed.Setpoint, conformed);
                return true;
            default:
                return false;
        }
    }

    private void End(string washer, string setpoint, WashEvent by)
    {
        if (_lines.FindLastIndex(l => l.Conformed is null && l.Washer == washer && l.Finding.Setpoint == setpoint) is >= 0 and var index)
        {
            _lines[index] = _lines[index] with { Conformed = by.At.Latest };
            if (mostEnded is { } most && _lines.Count(l => l.Conformed is not null) > most)
            {
                _lines.RemoveAt(_lines.FindIndex(l => l.Conformed is not null));
            }
        }
    }
}
