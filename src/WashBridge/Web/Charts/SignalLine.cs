using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Web.Charts;

/// <summary>One part of a period, summed up.</summary>
internal readonly record struct LinePart
{
    public required Instant From { get; init; }

    public required Instant Until { get; init; }

    /// <summary>Some sample had a number.</summary>
    public bool HasValue { get; init; }

    /// <summary>There was a sample, good or not.</summary>
    public bool HasAny { get; init; }

    public double Low { get; init; }

    public double High { get; init; }

    /// <summary>Where the line goes.</summary>
    public double Shown { get; init; }

    /// <summary>What holds from the last sample on.</summary>
    public double Last { get; init; }

    public Instant FirstAt { get; init; }

    public Instant LastAt { get; init; }

    public bool EndsBad { get; init; }

    public bool IsUncertain { get; init; }

    public bool IsBad { get; init; }
}

/// <summary>Draws a line from samples or parts in order of time, and leaves it open where nothing was read.</summary>
internal sealed class SignalLine(Instant from, Instant until, SignalWatch watch)
{
    private readonly List<SignalPoint> _points = [];
    private readonly List<SignalStretch> _stretches = [];

    /// <summary>A sample, and when the next one came.</summary>
    public void Hold(Instant at, Instant next, double? value, Quality quality)
    {
        var end = EndOfHold(at, next);
        var start = Instant.Max(at, from);
        if (end < start)
        {
            Gap(start, next, at);
            return;
        }

        Point(start, value, value, value);
        if (quality != Quality.Good || value is null)
        {
            Stretch(start, Instant.Min(end, until), value is null ? StretchKind.Bad : StretchKind.Uncertain);
        }

        if (end < next)
        {
            if (end > start)
            {
                Point(end, value, value, value);
            }

            Gap(end, next, at);
        }
        else if (next == until)
        {
            Point(until, value, value, value);
        }
    }

    /// <summary>Parts of the whole period, in order, and the last sample before it.</summary>
    public void Add(IReadOnlyList<LinePart> parts, Sample? before)
    {
        (double Value, Instant At)? held = before is { } sample && !double.IsNaN(sample.Value.Number) ? (sample.Value.Number, sample.At.Latest) : null;
        var nexts = Nexts(parts);
        for (var i = 0; i < parts.Count; i++)
        {
            var part = parts[i];
            var start = Instant.Max(part.From, from);
            var end = Instant.Min(part.Until, until);
            if (part.HasAny)
            {
                var joins = held is { } value && !watch.IsBroken(value.At, part.FirstAt);
                if (held is { } last && !joins)
                {
                    Stretch(Instant.Max(last.At, from), part.FirstAt, StretchKind.Gap, Reason(last.At, part.FirstAt));
                }

                if (part.HasValue)
                {
                    Point(start, part.Shown, joins ? Math.Min(part.Low, held!.Value.Value) : part.Low, joins ? Math.Max(part.High, held!.Value.Value) : part.High);
                }
                else
                {
                    Point(start, null, null, null);
                }

                if (part.IsBad || part.IsUncertain)
                {
                    Stretch(start, end, part.IsBad ? StretchKind.Bad : StretchKind.Uncertain);
                }

                held = part.EndsBad || !part.HasValue ? null : (part.Last, part.LastAt);
            }
            else if (held is { } value && !watch.IsBroken(value.At, nexts[i]))
            {
                Point(start, value.Value, value.Value, value.Value);
            }
            else
            {
                Point(start, null, null, null);
            }
        }

        Close(held);
    }

    public SignalPicture Picture(Signal signal, SignalDetail detail, TimeSpan partSpan, long samples) =>
        new() { Signal = signal, Detail = detail, PartSpan = partSpan, Points = _points, Stretches = _stretches, Samples = samples };

    private void Close((double Value, Instant At)? held)
    {
        if (held is { } last && watch.IsBroken(last.At, until))
        {
            Point(last.At, null, null, null);
            Stretch(Instant.Max(last.At, from), until, StretchKind.Gap, Reason(last.At, until));
        }
        else if (_points.Count > 0 && _points[^1].Value is not null)
        {
            _points.Add(_points[^1] with { At = until });
        }
    }

    /// <summary>For each part: when the next sample after it came; the end of the period where none did.</summary>
    private Instant[] Nexts(IReadOnlyList<LinePart> parts)
    {
        var nexts = new Instant[parts.Count];
        var next = until;
        for (var i = parts.Count - 1; i >= 0; i--)
        {
            nexts[i] = next;
            next = parts[i].HasAny ? parts[i].FirstAt : next;
        }

        return nexts;
    }

    /// <summary>Until when a sample's value is known to have held: a silence begins there, or nothing told it at all.</summary>
    private Instant EndOfHold(Instant at, Instant next)
    {
        if (next - at > watch.Hold)
        {
            return watch.FirstAfter(at) is { } known && known.From > at && known.From < next && known.From - at <= watch.Hold ? known.From : at;
        }

        return watch.FirstAfter(at) is { } silence && silence.Until <= next && silence.From < next
            ? silence.From == silence.Until ? at : Instant.Max(at, silence.From)
            : next;
    }

    private void Gap(Instant start, Instant end, Instant after)
    {
        Point(start, null, null, null);
        Stretch(start, Instant.Min(end, until), StretchKind.Gap, Reason(after, end));
    }

    private string Reason(Instant after, Instant before) => watch.FirstAfter(after) is { } silence && silence.From < before ? silence.Reason : "";

    /// <summary>What only goes on needs no point of its own.</summary>
    private void Point(Instant at, double? value, double? low, double? high)
    {
        if (_points.Count > 0 && _points[^1] is var last)
        {
            if (at < last.At || (last.Value == value && last.Low == low && last.High == high && at < until))
            {
                return;
            }
        }

        _points.Add(new SignalPoint(at, value, low, high));
    }

    private void Stretch(Instant start, Instant end, StretchKind kind, string reason = "")
    {
        if (end <= start)
        {
            return;
        }

        if (_stretches.Count > 0 && _stretches[^1] is var last && last.Kind == kind && last.Reason == reason && start <= last.Until)
        {
            _stretches[^1] = last with { Until = Instant.Max(end, last.Until) };
            return;
        }

        _stretches.Add(new SignalStretch(start, end, kind, reason));
    }
}
