using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian;

/// <summary>What was recorded of one signal in one part of a period. The figures are of good and uncertain samples that have a number, and 0 without any.</summary>
public record struct SignalPart
{
    /// <summary>Samples with a number.</summary>
    public int Count { get; set; }

    /// <summary>Of <see cref="Count"/>: of uncertain quality.</summary>
    public int Uncertain { get; set; }

    /// <summary>Besides: of bad quality, or without a number.</summary>
    public int Bad { get; set; }

    public double Minimum { get; set; }

    public double Maximum { get; set; }

    public double Last { get; set; }

    /// <summary>The last sample of all had no number.</summary>
    public bool EndsBad { get; set; }

    /// <summary>When the first sample of any quality was, and the last; microseconds since 1970.</summary>
    public long FirstAt { get; set; }

    public long LastAt { get; set; }
}

/// <summary>Sums samples up in equal parts of a period, whatever their order.</summary>
public sealed class SignalParts
{
    private readonly long _from;
    private readonly long _span;
    private readonly SignalPart[] _parts;

    /// <param name="from">Start of the period.</param>
    /// <param name="until">Its end, later than <paramref name="from"/>.</param>
    /// <param name="count">Parts: 1 to 10,000.</param>
    public SignalParts(Instant from, Instant until, int count)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(until, from);
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, 10_000);
        (_from, _span, _parts) = (from.UnixMicroseconds, until.UnixMicroseconds - from.UnixMicroseconds, new SignalPart[count]);
    }

    /// <summary>In order of time.</summary>
    public IReadOnlyList<SignalPart> Parts => _parts;

    /// <summary>The start of a part; that of the part after the last is the end of the period.</summary>
    public Instant StartOf(int part) => new(_from + (long)((Int128)_span * part / _parts.Length));

    /// <summary>Samples outside the period are left out.</summary>
    public void Add(long at, double number, Quality quality)
    {
        var after = at - _from;
        if (after < 0 || after >= _span)
        {
            return;
        }

        ref var part = ref _parts[(int)((Int128)after * _parts.Length / _span)];
        var isFirst = part.Count + part.Bad == 0;
        var isLast = isFirst || at >= part.LastAt;
        part.FirstAt = isFirst ? at : Math.Min(part.FirstAt, at);
        part.LastAt = isFirst ? at : Math.Max(part.LastAt, at);
        if (quality == Quality.Bad || double.IsNaN(number))
        {
            part.Bad++;
            part.EndsBad |= isLast;
            return;
        }

        part.Minimum = part.Count == 0 ? number : Math.Min(part.Minimum, number);
        part.Maximum = part.Count == 0 ? number : Math.Max(part.Maximum, number);
        part.Count++;
        part.Uncertain += quality == Quality.Uncertain ? 1 : 0;
        if (isLast)
        {
            (part.Last, part.EndsBad) = (number, false);
        }
    }
}
