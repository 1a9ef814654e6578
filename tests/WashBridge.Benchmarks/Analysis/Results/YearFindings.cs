using System.Diagnostics;
using WashBridge.Analysis;
using WashBridge.Analysis.Upkeep;
using WashBridge.Benchmarks.Analysis.Forecasts;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core.Cycles;

namespace WashBridge.Benchmarks.Analysis.Results;

/// <summary>What charts and forecasts say about one simulated washer-year, judged by its truth.</summary>
/// <param name="Seconds">Processor time of the whole analysis without reading the file, that of judging it included.</param>
internal sealed record YearFindings(int Seed, DriftReview Drift, YearForecasts Forecasts, double Seconds)
{
    public static YearFindings Of(string folder, int seed, double falseAlarmEvery)
    {
        var truth = YearFiles.ReadTruth(folder, seed);
        var settings = YearSettings.Of(truth, falseAlarmEvery);
        var watches = AnalysisFactory.Watches(settings);
        var analysis = new WasherAnalysis(watches);
        var judge = new ForecastJudge(truth, watches.OfType<UpkeepWatch>().Single());
        var drifts = new List<DriftFound>();
        using var process = Process.GetCurrentProcess();
        var time = TimeSpan.Zero;
        foreach (var batch in YearFiles.ReadEvents(folder, seed).Chunk(5_000))
        {
            process.Refresh();
            var before = process.TotalProcessorTime;
            foreach (var washEvent in batch)
            {
                var found = analysis.Accept(washEvent);
                judge.Take(washEvent, found);
                drifts.AddRange(found.OfType<DriftFound>());
            }

            process.Refresh();
            time += process.TotalProcessorTime - before;
        }

        return new YearFindings(seed, DriftReview.Of(truth, drifts), judge.Result(), time.TotalSeconds);
    }
}
