using WashBridge.Core.Signals;

namespace WashBridge.Historian.Encoding;

/// <summary>Sums of an hour of one signal, of good and uncertain samples that have a number.</summary>
internal struct HourSums
{
    public int Count;
    public double Minimum;
    public double Maximum;
    public double Sum;
    public double Last;
    public long LastAt;

    /// <summary>Adds what follows it in the log.</summary>
    public void Add(in HourSums other)
    {
        if (Count == 0)
        {
            this = other;
            return;
        }

        if (other.Count == 0)
        {
            return;
        }

        Count += other.Count;
        Minimum = Math.Min(Minimum, other.Minimum);
        Maximum = Math.Max(Maximum, other.Maximum);
        Sum += other.Sum;
        if (other.LastAt >= LastAt)
        {
            (Last, LastAt) = (other.Last, other.LastAt);
        }
    }

    public void Add(long at, double number)
    {
        if (Count == 0)
        {
            (Minimum, Maximum, LastAt) = (number, number, long.MinValue);
        }

        Count++;
        Minimum = Math.Min(Minimum, number);
        Maximum = Math.Max(Maximum, number);
        Sum += number;
        if (at >= LastAt)
        {
            (Last, LastAt) = (number, at);
        }
    }
}

/// <summary>Sums by hour.</summary>
internal sealed class HourlySums
{
    public const long HourMicroseconds = 3_600_000_000;

    private readonly SortedList<long, HourSums> _hours = [];
    private long _hour = long.MinValue;
    private HourSums _current;

    public IEnumerable<KeyValuePair<long, HourSums>> Hours
    {
        get
        {
            Flush();
            return _hours;
        }
    }

    /// <summary>The start of the hour that holds <paramref name="at"/>.</summary>
    public static long HourOf(long at) => at - (((at % HourMicroseconds) + HourMicroseconds) % HourMicroseconds);

    public void Add(long at, double number, Quality quality)
    {
        if (quality == Quality.Bad || double.IsNaN(number))
        {
            return;
        }

        if (at < _hour || at - _hour >= HourMicroseconds || _hour == long.MinValue)
        {
            Flush();
            _hour = HourOf(at);
        }

        _current.Add(at, number);
    }

    public void Add(long hour, in HourSums sums)
    {
        Flush();
        Merge(hour, sums);
    }

    private void Flush()
    {
        if (_current.Count > 0)
        {
            Merge(_hour, _current);
            _current = default;
        }
    }

    private void Merge(long hour, in HourSums sums)
    {
        _hours.TryGetValue(hour, out var sofar);
        sofar.Add(sums);
        _hours[hour] = sofar;
    }
}
