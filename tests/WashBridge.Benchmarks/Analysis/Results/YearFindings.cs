using System.Diagnostics;
using WashBridge.Analysis;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Upkeep;
using WashBridge.Benchmarks.Analysis.Forecasts;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core.Cycles;

namespace WashBridge.Benchmarks.Analysis.Results;

/// <summary>What charts and forecasts say about one simulated washer-year, judged by its truth.</summary>
/// <param name="Seconds">Time of the analysis alone, without reading the file.</param>
internal sealed record YearFindings(int Seed, DriftReview Drift, YearForecasts Forecasts, double Seconds)
{
    public static YearFindings Of(string folder, int seed, double falseAlarmEvery)
    {
        var truth = YearFiles.ReadTruth(folder, seed);
        var settings = YearSettings.Of(truth, falseAlarmEvery);
        var upkeep = new UpkeepWatch(settings);
        var analysis = new WasherAnalysis([new DriftWatch(settings), upkeep]);
        var judge = new ForecastJudge(truth, upkeep);
        var drifts = new List<DriftFound>();
        var ticks = 0L;
        foreach (var washEvent in YearFiles.ReadEvents(folder, seed))
        {
            var begin = Stopwatch.GetTimestamp();
            var found = analysis.Accept(washEvent);
            ticks += Stopwatch.GetTimestamp() - begin;
            judge.Take(washEvent, found);
            drifts.AddRange(found.OfType<DriftFound>());
        }

        return new YearFindings(seed, DriftReview.Of(truth, drifts), judge.Result(), ticks / (double)Stopwatch.Frequency);
    }
}
