using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Analysis;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Upkeep;
using WashBridge.Benchmarks.Analysis.Years;

namespace WashBridge.Benchmarks.Analysis.Forecasts;

internal sealed class AnalysisForecastYearsBench : IBench
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web) { NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals, WriteIndented = true };

    public string Name => "analysis-forecast-years";

    public string What => "forecasts and causes on simulated washer-years: FOLDER [RESULT.json [FIRST-SEED LAST-SEED [with-charts]]]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var (folder, first, last) = (arguments[0], arguments.Length > 2 ? int.Parse(arguments[2]) : 0, arguments.Length > 3 ? int.Parse(arguments[3]) : int.MaxValue);
        var years = new List<YearForecasts>();
        foreach (var seed in YearFiles.Seeds(folder).Where(s => s >= first && s <= last))
        {
            cancellation.ThrowIfCancellationRequested();
            var year = Judge(folder, seed, arguments.Contains("with-charts"), out var seconds);
            years.Add(year);
            Console.WriteLine($"{seed}: {year.Description}; {year.Trials.Count} trials, {year.Causes.Count(c => c.Asked == c.Truth)} of {year.Causes.Count} causes, {year.False.Count} false forecasts; {seconds:F2} s of processor");
            foreach (var wrong in year.Causes.Where(c => c.Asked != c.Truth))
            {
                Console.WriteLine($"   {wrong}");
            }

            foreach (var wrong in year.False)
            {
                Console.WriteLine($"   {wrong}");
            }
        }

        var all = AllForecasts.Of(years);
        ForecastReport.Print(all.Forecasts);
        Console.WriteLine($"{all.Years} years; right cause first: {all.RightFirst:P1} of single faults, {all.RightFirstMixed:P1} of mixed ones, {all.RightFirstTold:P1} of those told of (bar 90 %); false forecasts for 1,000 cycles {all.FalsePer1000:F4}");
        foreach (var row in all.Confusion)
        {
            Console.WriteLine($"   {row.Truth,-18} {row.Said,-22} {row.Count}");
        }

        if (arguments.Length > 1)
        {
            File.WriteAllText(arguments[1], JsonSerializer.Serialize(all, Options));
        }

        return Task.CompletedTask;
    }

    /// <summary>Runs the watches over one year and judges what they say.</summary>
    internal static YearForecasts Judge(string folder, int seed, bool withCharts, out double processorSeconds)
    {
        var truth = YearFiles.ReadTruth(folder, seed);
        var settings = YearSettings.Of(truth);
        var upkeep = new UpkeepWatch(settings);
        var analysis = new WasherAnalysis(withCharts ? [new DriftWatch(settings), upkeep] : [upkeep]);
        var judge = new ForecastJudge(truth, upkeep);
        var watch = new Stopwatch();
        using var process = Process.GetCurrentProcess();
        processorSeconds = 0;
        foreach (var batch in YearFiles.ReadEvents(folder, seed).Chunk(5_000))
        {
            process.Refresh();
            var before = process.TotalProcessorTime;
            foreach (var washEvent in batch)
            {
                judge.Take(washEvent, analysis.Accept(washEvent));
            }

            process.Refresh();
            processorSeconds += (process.TotalProcessorTime - before).TotalSeconds;
        }

        return judge.Result();
    }
}
