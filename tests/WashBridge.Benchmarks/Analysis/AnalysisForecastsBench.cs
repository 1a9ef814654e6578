using System.Diagnostics;
using WashBridge.Analysis.Tests.Upkeep;
using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Benchmarks.Analysis;

internal sealed class AnalysisForecastsBench : IBench
{
    public string Name => "analysis-forecasts";

    public string What => "do forecasts of wear hold what their intervals promise? On simulated lives and on published crack growth";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var count = arguments.Length > 0 ? int.Parse(arguments[0]) : 300;
        var first = arguments.Length > 1 ? int.Parse(arguments[1]) : 1;
        var watch = new Stopwatch();
        var made = 0;
        foreach (var share in new[] { 0.25, 0.5, 0.75, 0.9 })
        {
            var rows = new List<(LifeKind Kind, bool Given, bool In, double Error, double Score, bool Below)>();
            for (var seed = first; seed < first + count; seed++)
            {
                var life = SimulatedLife.Of(seed);
                var now = life.At(share);
                var question = life.Question(now);
                watch.Start();
                var outlook = WearForecaster.Forecast(question);
                watch.Stop();
                if (outlook is null) { continue; }
                made++;
                double left = life.End - now;
                var given = outlook.ChanceProbability < 0.001 && outlook.TowardsProbability > 0.97;
                rows.Add((life.Kind, given, left >= outlook.Lower && left <= outlook.Upper, Math.Abs(outlook.Median - left) / left, outlook.Upper / outlook.Lower, left < outlook.Lower));
            }

            foreach (var group in rows.GroupBy(r => r.Kind.ToString()).OrderBy(g => g.Key).Append(new All(rows)))
            {
                var given = group.Where(r => r.Given).ToList();
                if (given.Count == 0) { continue; }
                Console.WriteLine($"{share,5} {group.Key,-12} n {group.Count(),4} given {given.Count,4} cover {given.Average(r => r.In ? 1.0 : 0):F3} below {given.Average(r => r.Below ? 1.0 : 0):F3} err-med {Med(given.Select(r => r.Error)):F3} ratio {Med(given.Select(r => r.Score)):F2}   all: cover {group.Average(r => r.In ? 1.0 : 0):F3}");
            }
        }

        foreach (var share in new[] { 0.5, 0.7, 0.85 })
        {
            var errs = new List<double>(); var inside = 0; var n = 0;
            foreach (var crack in CrackGrowth.Read(Path.Combine(AppContext.BaseDirectory, "Analysis", "fatigue.csv")).Where(c => c.End is not null))
            {
                var o = WearForecaster.Forecast(crack.Question(share));
                var left = (1 - share) * crack.End!.Value;
                n++;
                if (o is null) { Console.WriteLine($"{crack.Path} none"); continue; }
                if (share == 0.5 || arguments.Length > 2) Console.WriteLine($"{crack.Path} left {left:F4} med {o.Median:F4} [{o.Lower:F4} {o.Upper:F4}] power {o.Power}");
                errs.Add(Math.Abs(o.Median - left) / left); inside += left >= o.Lower && left <= o.Upper ? 1 : 0;
            }
            Console.WriteLine($"fatigue {share} n {n} in {inside} err {Med(errs):F3}");
        }

        Console.WriteLine($"{watch.Elapsed.TotalMilliseconds / made:F2} ms a forecast");
        return Task.CompletedTask;
    }

    private static double Med(IEnumerable<double> v) { var s = v.Order().ToList(); return s[s.Count / 2]; }

    private sealed class All(List<(LifeKind, bool, bool, double, double, bool)> rows) : IGrouping<string, (LifeKind Kind, bool Given, bool In, double Error, double Score, bool Below)>
    {
        public string Key => "all";

        public IEnumerator<(LifeKind Kind, bool Given, bool In, double Error, double Score, bool Below)> GetEnumerator() => rows.GetEnumerator();

        System.Collections.IEnumerator System.Collections.IEnumerable.GetEnumerator() => rows.GetEnumerator();
    }
}
