using System.Globalization;
using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Analysis.Tests.Upkeep;

/// <summary>Published run-to-failure data: fatigue cracks of Lu and Meeker (1993), failed at 1.6 times the first length.</summary>
public sealed class CrackGrowth
{
    public const double Limit = 1.6;

    private readonly (double Time, double Length)[] _points;

    private CrackGrowth(int path, (double Time, double Length)[] points)
    {
        Path = path;
        _points = points;
        var after = Array.FindIndex(points, p => p.Length >= Limit);
        if (after > 0)
        {
            var (a, b) = (points[after - 1], points[after]);
            End = a.Time + ((Limit - a.Length) / (b.Length - a.Length) * (b.Time - a.Time));
        }
    }

    public int Path { get; }

    /// <summary>Millions of load cycles to the limit, between the points by a straight line; null: not reached within the test.</summary>
    public double? End { get; }

    /// <summary>All 21 test pieces, from a file in the form of fatigue.csv.</summary>
    public static IReadOnlyList<CrackGrowth> Read(string file) => File.ReadLines(file)
        .Where(l => !l.StartsWith('#'))
        .Select(l => l.Split(',').Select(v => double.Parse(v, CultureInfo.InvariantCulture)).ToArray())
        .GroupBy(r => (int)r[0])
        .Select(g => new CrackGrowth(g.Key, g.Select(r => (r[1], r[2])).ToArray()))
        .ToList();

    /// <summary>What was known at a share of the piece's own life; of other pieces nothing is used.</summary>
    public WearQuestion Question(double share)
    {
        var now = share * (End ?? throw new InvalidOperationException($"path {Path} did not reach {Limit}"));
        return new WearQuestion(_points.Where(p => p.Time <= now).Select(p => new WearBlock(p.Time, p.Length, 1, double.NaN)).ToList(), _points[0].Length, Limit, now);
    }
}
