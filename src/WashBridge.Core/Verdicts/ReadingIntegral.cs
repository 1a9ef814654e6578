using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Verdicts;

/// <summary>What a rate over time adds up to, at least and at most.</summary>
/// <param name="Lower">In seconds times the rate's unit.</param>
/// <param name="Upper">The same; infinite where nothing bounds it.</param>
/// <param name="UnreadSeconds">How much of the window had no pair of good readings around it.</param>
internal readonly record struct IntegralBounds(double Lower, double Upper, double UnreadSeconds);

/// <summary>
/// Integrates a rate that depends on a measured quantity, such as a lethal rate on temperature, with bounds: between two good readings the
/// quantity is taken to lie between their values; where a reading's own moment is uncertain, both neighbours are possible; and where
/// readings are missing or too far apart nothing is counted below and everything above.
/// </summary>
internal sealed class ReadingIntegral
{
    private readonly IReadOnlyList<Reading> readings;
    private readonly List<Moment> boundaries;

    /// <summary>Rates of the pieces between readings: piece i lies between readings i - 1 and i, the first before all and the last after all.</summary>
    private readonly List<(double Low, double High, bool Read)> pieces = [];

    /// <param name="readings">In order.</param>
    /// <param name="gapLimit">Two readings further apart than this say nothing about the time between them.</param>
    /// <param name="rates">The least and greatest rate for a quantity between two values.</param>
    /// <param name="unread">The greatest rate where nothing was read.</param>
    public ReadingIntegral(IReadOnlyList<Reading> readings, TimeSpan gapLimit, Func<double, double, (double Low, double High)> rates, double unread)
    {
        this.readings = readings;
        boundaries = [.. readings.SelectMany(r => new[] { r.At.Earliest, r.At.Latest }).Order(Comparer<Moment>.Create(SteadyLine.Compare))];
        pieces.Add((0, unread, false));
        for (var i = 1; i < readings.Count; i++)
        {
            var (a, b) = (readings[i - 1], readings[i]);
            var isKnown = a.IsGood && b.IsGood && SteadyLine.Between(a.At.Earliest, b.At.Latest) is { } apart && apart <= gapLimit;
            var (low, high) = isKnown ? rates(Math.Min(a.Value, b.Value), Math.Max(a.Value, b.Value)) : (0, unread);
            pieces.Add((low, high, isKnown));
        }

        pieces.Add((0, unread, false));
    }

    public IntegralBounds Over(Moment from, Moment to)
    {
        var (lower, upper, unread) = (0.0, 0.0, 0.0);
        var (first, last) = (0, 0);
        foreach (var (a, b) in Slices(from, to))
        {
            // Piece i can cover the slice when it can have begun before it and ended after it.
            while (first < readings.Count && SteadyLine.Compare(readings[first].At.Latest, b) < 0)
            {
                first++;
            }

            while (last < readings.Count && SteadyLine.Compare(readings[last].At.Earliest, a) <= 0)
            {
                last++;
            }

            var possible = pieces.GetRange(first, last - first + 1);
            if (SteadyLine.Between(a, b) is not { } span)
            {
                return new IntegralBounds(lower + RestOf(b, to).Lower, double.PositiveInfinity, double.PositiveInfinity);
            }

            lower += span.TotalSeconds * possible.Min(p => p.Low);
            upper += Product(span.TotalSeconds, possible.Max(p => p.High));
            unread += possible.TrueForAll(p => p.Read) ? 0 : span.TotalSeconds;
        }

        return new IntegralBounds(lower, upper, unread);
    }

    private IntegralBounds RestOf(Moment from, Moment to) => SteadyLine.Compare(from, to) < 0 ? Over(from, to) : default;

    private IEnumerable<(Moment From, Moment To)> Slices(Moment from, Moment to)
    {
        var at = from;
        foreach (var boundary in boundaries)
        {
            if (SteadyLine.Compare(boundary, at) > 0 && SteadyLine.Compare(boundary, to) < 0)
            {
                yield return (at, boundary);
                at = boundary;
            }
        }

        if (SteadyLine.Compare(at, to) < 0)
        {
            yield return (at, to);
        }
    }

    /// <summary>Nothing for no time, even at an unbounded rate.</summary>
    private static double Product(double seconds, double rate) => seconds == 0 ? 0 : seconds * rate;
}
