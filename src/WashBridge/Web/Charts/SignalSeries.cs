using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Charts;

/// <summary>
/// From a signal and a period to a picture: the samples themselves where they are few; else lowest, highest and last of equal parts, so that no spike is lost;
/// whole hours for long periods. A value holds until the next sample, because changes are recorded; where something was not read it does not.
/// </summary>
internal static class SignalSeries
{
    /// <summary>A screen is hardly wider.</summary>
    public const int MostPoints = 2000;

    private const int Parts = 800;
    private const int MostHours = 1000;

    private static readonly TimeSpan Short = TimeSpan.FromMinutes(20);
    private static readonly TimeSpan Long = TimeSpan.FromDays(10);

    public static SignalPicture Read(IHistorianReader historian, Signal signal, Instant from, Instant until, SignalWatch watch)
    {
        if (until - from >= Long)
        {
            return OfHours(historian, signal, from, until, watch);
        }

        if (until - from > Short)
        {
            var parts = historian.ReadParts(signal, from, until, Parts);
            if (parts.Parts.Sum(p => p.Count + p.Bad) > MostPoints)
            {
                return OfParts(historian, signal, from, until, watch, parts);
            }
        }

        var samples = historian.ReadSamples(signal, from, until);
        return samples.Count <= MostPoints ? OfSamples(signal, from, until, watch, samples) : OfParts(historian, signal, from, until, watch, Sum(samples, from, until));
    }

    private static SignalParts Sum(IReadOnlyList<Sample> samples, Instant from, Instant until)
    {
        var parts = new SignalParts(from, until, Parts);
        foreach (var sample in samples)
        {
            parts.Add(sample.At.Latest.UnixMicroseconds, sample.Value.Number, sample.Quality);
        }

        return parts;
    }

    private static SignalPicture OfSamples(Signal signal, Instant from, Instant until, SignalWatch watch, IReadOnlyList<Sample> samples)
    {
        var line = new SignalLine(from, until, watch);
        for (var i = 0; i < samples.Count; i++)
        {
            var sample = samples[i];
            double? value = sample.Quality == Quality.Bad || double.IsNaN(sample.Value.Number) ? null : sample.Value.Number;
            line.Hold(sample.At.Latest, i + 1 < samples.Count ? samples[i + 1].At.Latest : until, value, sample.Quality);
        }

        return line.Picture(signal, SignalDetail.Samples, TimeSpan.Zero, samples.Count(s => s.At.Latest >= from));
    }

    private static SignalPicture OfParts(IHistorianReader historian, Signal signal, Instant from, Instant until, SignalWatch watch, SignalParts sums)
    {
        var parts = sums.Parts.Select((p, i) => new LinePart
        {
            From = sums.StartOf(i), Until = sums.StartOf(i + 1), HasValue = p.Count > 0, Low = p.Minimum, High = p.Maximum, Shown = p.Last, Last = p.Last,
            HasAny = p.Count + p.Bad > 0, FirstAt = new Instant(p.FirstAt), LastAt = new Instant(p.LastAt), EndsBad = p.EndsBad, IsUncertain = p.Uncertain > 0, IsBad = p.Bad > 0,
        }).ToList();
        var line = new SignalLine(from, until, watch);
        line.Add(parts, historian.ReadSamples(signal, from, from) is [var before, ..] && before.At.Latest < from && before.Quality != Quality.Bad ? before : null);
        return line.Picture(signal, SignalDetail.Parts, (until - from) / Parts, sums.Parts.Sum(p => (long)p.Count + p.Bad));
    }

    private static SignalPicture OfHours(IHistorianReader historian, Signal signal, Instant from, Instant until, SignalWatch watch)
    {
        var hours = historian.ReadHourly(signal, from, until);
        var each = (int)Math.Ceiling((until - from).TotalHours / MostHours);
        var width = TimeSpan.FromHours(each);
        var parts = new List<LinePart>();
        var next = 0;
        var start = hours.Count > 0 ? hours[0].Hour : from;
        while (start > from)
        {
            start -= width;
        }

        for (; start < until; start += width)
        {
            var first = next;
            while (next < hours.Count && hours[next].Hour < start + width)
            {
                next++;
            }

            parts.Add(OfHours(start, width, [.. hours.Skip(first).Take(next - first)]));
        }

        // Hours tell nothing of the minutes between their samples: only what is missing for longer can be told.
        var line = new SignalLine(from, until, watch with { Hold = TimeSpan.FromTicks(Math.Max(watch.Hold.Ticks, TimeSpan.FromHours(1).Ticks)) });
        line.Add(parts, null);
        return line.Picture(signal, SignalDetail.Hours, width, hours.Sum(h => (long)h.Count));
    }

    private static LinePart OfHours(Instant start, TimeSpan width, IReadOnlyList<HourlySummary> hours) => new()
    {
        From = start,
        Until = start + width,
        HasValue = hours.Count > 0,
        HasAny = hours.Count > 0,
        Low = hours.Count > 0 ? hours.Min(h => h.Minimum) : 0,
        High = hours.Count > 0 ? hours.Max(h => h.Maximum) : 0,
        Shown = hours.Count > 0 ? hours.Sum(h => h.Mean * h.Count) / hours.Sum(h => h.Count) : 0,
        Last = hours.Count > 0 ? hours[^1].Last : 0,
        FirstAt = hours.Count > 0 ? hours[0].Hour : start,
        LastAt = hours.Count > 0 ? hours[^1].Hour + TimeSpan.FromHours(1) : start,
    };
}
