using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Web.Api;

/// <summary>Samples as points, put together by equal stretches of time where fewer are wanted.</summary>
internal static class SamplePoints
{
    public static IReadOnlyList<PointAnswer> All(IReadOnlyList<Sample> samples) => [.. samples.Select(Point)];

    /// <summary>At most <paramref name="most"/> points, each of the samples that came in its stretch. A quantity has mean, least and most; all else its last value.</summary>
    public static IReadOnlyList<PointAnswer> Reduced(IReadOnlyList<Sample> samples, Instant from, Instant until, int most, bool isQuantity)
    {
        var width = Math.Max(1, (until.UnixMicroseconds - from.UnixMicroseconds + most - 1) / most);
        return [.. samples.GroupBy(s => Math.Clamp((s.At.Latest.UnixMicroseconds - from.UnixMicroseconds) / width, 0, most - 1)).Select(g => Together([.. g], g.Key))];

        PointAnswer Together(List<Sample> group, long index)
        {
            var (begin, end) = (new Instant(from.UnixMicroseconds + (index * width)), Instant.Min(until, new Instant(from.UnixMicroseconds + ((index + 1) * width))));
            var values = group.Select(s => s.Value.Number).Where(double.IsFinite).ToList();
            var worst = group.Max(s => s.Quality);
            return isQuantity && values.Count > 0
                ? new PointAnswer(begin, end, values.Average(), null, worst, values.Min(), values.Max(), group.Count)
                : new PointAnswer(begin, end, Number(group[^1].Value.Number), group[^1].Value.Text, worst, Count: group.Count);
        }
    }

    private static PointAnswer Point(Sample sample) => new(sample.At.Earliest, sample.At.Latest, Number(sample.Value.Number), sample.Value.Text, sample.Quality);

    private static double? Number(double value) => double.IsFinite(value) ? value : null;
}
