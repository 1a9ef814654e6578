namespace WashBridge.Core.Features.Extraction;

/// <summary>What the readings of a signal within some windows come to.</summary>
internal static class Readouts
{
    /// <summary>Readings further apart than this do not stand for the time between them.</summary>
    private const long WeightLimit = 10_000_000;

    /// <summary>A mean stands for its windows when so much of them was read.</summary>
    private const double LeastShare = 0.8;

    /// <summary>
    /// Mean over time. Uncertainty: the spread of the readings and what a held value can hide, over the root of the number of reports, because readings
    /// that repeat a report are not independent (JCGM 100:2008, 4.2 and 4.3.7). Null where too much of the windows was not read.
    /// </summary>
    public static Estimate? Mean(Track? track, IEnumerable<Window> windows, List<Point> buffer)
    {
        if (track is null)
        {
            return null;
        }

        var (sum, squares, weights, count, reports, last) = (0.0, 0.0, 0.0, 0, 0, -1);
        var shift = double.NaN;
        var length = 0.0;
        foreach (var window in windows)
        {
            buffer.Clear();
            track.Points(window, buffer);
            length += window.Seconds;
            for (var i = 0; i < buffer.Count; i++)
            {
                var from = i == 0 ? window.From : (buffer[i - 1].At.Middle / 2) + (buffer[i].At.Middle / 2);
                var to = i + 1 == buffer.Count ? window.To : (buffer[i].At.Middle / 2) + (buffer[i + 1].At.Middle / 2);
                var weight = Math.Clamp((to - from) / 1e6, 1e-6, WeightLimit / 1e6);
                shift = double.IsNaN(shift) ? buffer[i].Value : shift;
                var value = buffer[i].Value - shift;
                (sum, squares, weights) = (sum + (weight * value), squares + (weight * value * value), weights + weight);
                count++;
                reports += buffer[i].Report != last ? 1 : 0;
                last = buffer[i].Report;
            }
        }

        if (count == 0 || weights < LeastShare * length)
        {
            return null;
        }

        var mean = sum / weights;
        var spread = count > 1 ? Math.Max(0, (squares / weights) - (mean * mean)) * count / (count - 1) : 0;
        return new Estimate(shift + mean, Math.Sqrt((spread + OfHeld(track.DeadBand)) / reports));
    }

    /// <summary>
    /// Sum over time, in the signal's unit times s, of what is read as a straight line from reading to reading; between two that differ the truth can lie
    /// anywhere between them (rectangular). Null where two readings are further apart than the limit.
    /// </summary>
    public static Estimate? Integral(Track? track, Window? over, double gapLimit, List<Point> buffer)
    {
        if (track is null || over is not { } window)
        {
            return null;
        }

        buffer.Clear();
        track.Points(window, buffer, around: true);
        if (buffer.Count == 0)
        {
            return null;
        }

        var (from, to) = (window.From / 1e6, window.To / 1e6);
        var (sum, variance, reports) = (0.0, 0.0, 1);
        if (buffer[0].Seconds - from > gapLimit || to - buffer[^1].Seconds > gapLimit)
        {
            return null;
        }

        sum += Math.Max(0, buffer[0].Seconds - from) * buffer[0].Value;
        sum += Math.Max(0, to - buffer[^1].Seconds) * buffer[^1].Value;
        for (var i = 1; i < buffer.Count; i++)
        {
            var (a, b) = (buffer[i - 1], buffer[i]);
            var apart = b.Seconds - a.Seconds;
            if (apart > gapLimit)
            {
                return null;
            }

            reports += a.Report != b.Report ? 1 : 0;
            var (start, end) = (Math.Max(a.Seconds, from), Math.Min(b.Seconds, to));
            if (apart > 0 && end > start)
            {
                var slope = (b.Value - a.Value) / apart;
                sum += (end - start) * (a.Value + (slope * (((start + end) / 2) - a.Seconds)));
                variance += Variance((b.Value - a.Value) * (end - start) / 2);
            }
        }

        var held = track.DeadBand * window.Seconds;
        return new Estimate(sum, Math.Sqrt(variance + (track.Signal.Type == Signals.SignalType.Quantity ? Variance(held) / reports : 0)));
    }

    /// <summary>Slope of the reports within a window, in the signal's unit a second, by least squares; null of fewer than <paramref name="least"/>.</summary>
    public static Estimate? Slope(Track? track, Window? over, int least, List<Point> buffer)
    {
        if (track is null || over is not { } window)
        {
            return null;
        }

        buffer.Clear();
        track.Points(window, buffer);
        var (n, meanTime, meanValue, last) = (0, 0.0, 0.0, -1);
        foreach (var point in buffer)
        {
            if (point.Report != last)
            {
                last = point.Report;
                n++;
                meanTime += (point.Seconds - (window.From / 1e6) - meanTime) / n;
                meanValue += (point.Value - meanValue) / n;
            }
        }

        if (n < least)
        {
            return null;
        }

        var (sxx, sxy, syy) = (0.0, 0.0, 0.0);
        last = -1;
        foreach (var point in buffer)
        {
            if (point.Report != last)
            {
                last = point.Report;
                var (x, y) = (point.Seconds - (window.From / 1e6) - meanTime, point.Value - meanValue);
                (sxx, sxy, syy) = (sxx + (x * x), sxy + (x * y), syy + (y * y));
            }
        }

        if (sxx <= 0)
        {
            return null;
        }

        var slope = sxy / sxx;
        var residual = Math.Max(0, syy - (slope * sxy)) / Math.Max(1, n - 2);
        return new Estimate(slope, Math.Sqrt((residual + OfHeld(track.DeadBand)) / sxx));
    }

    /// <summary>
    /// Variance of one reading: the quantity lies anywhere within the dead band of the value held, and that value was itself read with noise, for which
    /// dead bands are made three standard deviations wide (common practice, no source).
    /// </summary>
    public static double OfHeld(double deadBand) => Variance(deadBand) + (deadBand * deadBand / 9);

    /// <summary>Of a rectangular distribution on +- <paramref name="half"/>: half squared over 3 (JCGM 100:2008, 4.3.7).</summary>
    public static double Variance(double half) => half * half / 3;
}
