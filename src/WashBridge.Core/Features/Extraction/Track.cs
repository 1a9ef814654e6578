using WashBridge.Core.Signals;

namespace WashBridge.Core.Features.Extraction;

/// <summary>The reads of one poll group, in order: what holds its value was read at each of them.</summary>
internal sealed class GroupReads
{
    /// <summary>No gap limit is shorter, µs.</summary>
    private const long Wide = 1_000_000;

    private readonly List<Stamp> _reads = [];
    private readonly List<int> _wide = [];
    private readonly List<int> _hidden = [];
    private bool _hasMissed;

    public int Count => _reads.Count;

    public Stamp this[int index] => _reads[index];

    public List<Track> Tracks { get; } = [];

    /// <summary>Indices of the reads between which and the one before nobody could read, whatever the reason.</summary>
    public IReadOnlyList<int> Hidden => _hidden;

    /// <summary>A read failed, or the bridge was away.</summary>
    public void Miss() => _hasMissed = _reads.Count > 0;

    /// <summary>Reads of a group follow one another; two of one message can share their bounds.</summary>
    public void Add(Stamp read)
    {
        if (_hasMissed)
        {
            _hidden.Add(_reads.Count);
            _hasMissed = false;
        }

        if (_reads.Count > 0 && _reads[^1] is var before && before.Epoch == read.Epoch)
        {
            read = new Stamp(read.Epoch, Math.Max(read.Earliest, before.Earliest), Math.Max(read.Latest, before.Latest));
            if (read.Earliest - before.Earliest > Wide)
            {
                _wide.Add(_reads.Count);
            }
        }

        _reads.Add(read);
    }

    /// <summary>Whether two reads of these, one after the other, lie further apart than this.</summary>
    public bool HasGap(int first, int last, long limitMicroseconds)
    {
        foreach (var wide in _wide)
        {
            if (wide > first && wide <= last && _reads[wide].Middle - _reads[wide - 1].Middle > limitMicroseconds)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Index of the first read that did not begin before this.</summary>
    public int FirstFrom(int epoch, long earliest)
    {
        var (low, high) = (0, _reads.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            var read = _reads[middle];
            if (read.Epoch < epoch || (read.Epoch == epoch && read.Earliest < earliest))
            {
                low = middle + 1;
            }
            else
            {
                high = middle;
            }
        }

        return low;
    }
}

/// <summary>One reading: within <paramref name="At"/> the signal had this value, within its dead band.</summary>
/// <param name="Report">Which report it repeats: readings of the same report are not independent.</param>
internal readonly record struct Point(Stamp At, double Value, int Report)
{
    /// <summary>In s, on the steady line.</summary>
    public double Seconds => At.Middle / 1e6;
}

/// <summary>One signal's reports, and the readings that they stand for.</summary>
internal sealed class Track(Signal signal, GroupReads group)
{
    private readonly List<Report> _reports = [];
    private readonly bool _isState = signal.Type != SignalType.Quantity;
    private int _listed = -1;
    private double _smallestChange = double.PositiveInfinity;

    public Signal Signal { get; } = signal;

    public GroupReads Group { get; } = group;

    /// <summary>As the tag map has it; null: not told.</summary>
    public double? KnownDeadBand { get; init; }

    /// <summary>How far the signal can be from a value it holds: as told, or else the smallest change that was ever reported by itself, which it can't exceed.</summary>
    public double DeadBand => KnownDeadBand ?? (double.IsFinite(_smallestChange) ? _smallestChange : 0);

    public void Add(int read, Stamp at, double value, bool isGood, bool isChange)
    {
        var isAgain = _listed == read;
        _listed = read;
        if (_reports.Count > 0 && isGood && _reports[^1] is { IsGood: true } before)
        {
            if (value == before.Value)
            {
                // A state that is merely confirmed is no news; a quantity is, because it was measured anew.
                if (_isState)
                {
                    return;
                }
            }
            else if (isChange)
            {
                _smallestChange = Math.Min(_smallestChange, Math.Abs(value - before.Value));
            }
        }

        var report = new Report(read, at, value, isGood);
        if (isAgain && _reports[^1].Read == read)
        {
            _reports[^1] = report;
        }
        else
        {
            _reports.Add(report);
        }
    }

    /// <summary>A full frame lists all that the group has: what it does not list is no longer read.</summary>
    public void EndUnlessListed(int read, Stamp at)
    {
        if (_listed != read)
        {
            Add(read, at, double.NaN, false, false);
        }
    }

    /// <summary>The good readings that certainly were taken within the window, in order.</summary>
    /// <param name="around">And the readings next to it on either side.</param>
    public void Points(Window window, List<Point> into, bool around = false)
    {
        var read = Group.FirstFrom(window.Epoch, window.From);
        read -= around && read > 0 && Group[read - 1].Epoch == window.Epoch ? 1 : 0;
        var report = LastReport(read);
        for (; read < Group.Count; read++)
        {
            while (report + 1 < _reports.Count && _reports[report + 1].Read <= read)
            {
                report++;
            }

            var at = Group[read];
            var isAfter = at.Epoch != window.Epoch || at.Latest > window.To;
            if (isAfter && (!around || at.Epoch != window.Epoch))
            {
                return;
            }

            if (report >= 0 && _reports[report] is { IsGood: true } held)
            {
                into.Add(new Point(held.Read == read ? held.At : at, held.Value, report));
            }

            if (isAfter)
            {
                return;
            }
        }
    }

    /// <summary>Whether a good report within the window differs from the value.</summary>
    public bool Leaves(double value, Window window)
    {
        foreach (var report in _reports)
        {
            if (report.IsGood && report.Value != value && report.At.Epoch == window.Epoch && report.At.Latest >= window.From && report.At.Earliest <= window.To)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>
    /// What a flag did within the window, told by its changes alone; null where it was not read good for longer than the limit somewhere in it.
    /// </summary>
    public FlagHistory? History(Window window, double gapLimitSeconds)
    {
        var limit = (long)(gapLimitSeconds * 1e6);
        var first = Group.FirstFrom(window.Epoch, window.From);
        first -= first > 0 && Group[first - 1].Epoch == window.Epoch ? 1 : 0;
        var end = Group.FirstFrom(window.Epoch, window.To);
        end = end < Group.Count && Group[end].Epoch == window.Epoch ? end : end - 1;
        var report = LastReport(first);
        if (end < first || report < 0 || !_reports[report].IsGood || Group[first].Middle - window.From > limit || window.To - Group[end].Middle > limit || Group.HasGap(first, end, limit))
        {
            return null;
        }

        var history = new FlagHistory(window, _reports[report].Value != 0);
        var (isSet, seen, told) = (history.WasSet, Group[first], first);
        for (var next = report + 1; next < _reports.Count && _reports[next].Read <= end; next++)
        {
            var (before, now) = (_reports[next - 1], _reports[next]);
            seen = before.IsGood ? Group[now.Read - 1] : seen;
            if (now.IsGood && now.At.Middle - seen.Middle > limit)
            {
                return null;
            }

            if (now.IsGood && (now.Value != 0) != isSet)
            {
                AddHidden(history, told, now.Read - 1, isSet);
                (isSet, told) = (!isSet, now.Read);
                history.Add(seen, now.At, isSet);
            }
        }

        AddHidden(history, told, end, isSet);
        return _reports[LastReport(end)].IsGood ? history : null;
    }

    /// <summary>Where reads failed after the one and up to the other, and showed the same before and after.</summary>
    private void AddHidden(FlagHistory history, int after, int upTo, bool isSet)
    {
        foreach (var read in Group.Hidden)
        {
            if (read > after && read <= upTo)
            {
                history.AddHidden(Group[read - 1], Group[read], isSet);
            }
        }
    }

    private int LastReport(int read)
    {
        var (low, high) = (0, _reports.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (_reports[middle].Read <= read)
            {
                low = middle + 1;
            }
            else
            {
                high = middle;
            }
        }

        return low - 1;
    }

    private readonly record struct Report(int Read, Stamp At, double Value, bool IsGood);
}
