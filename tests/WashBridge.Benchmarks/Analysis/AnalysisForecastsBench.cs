using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Analysis.Tests.Upkeep;
using WashBridge.Analysis.Upkeep.Forecasting;
using WashBridge.Benchmarks.Analysis.Forecasts;

namespace WashBridge.Benchmarks.Analysis;

internal sealed class AnalysisForecastsBench : IBench
{
    /// <summary>Seeds below were looked at while building; what is reported is from here on.</summary>
    private const int FirstReported = 1_000_001;
    private const int LivesReported = 2_000;

    private static readonly double[] Shares = [0.25, 0.5, 0.75, 0.9];
    private static readonly double[] CrackShares = [0.5, 0.7, 0.85];
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web) { NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals, WriteIndented = true };

    public string Name => "analysis-forecasts";

    public string What => "do forecasts of wear hold what their intervals promise? Invented lives and published cracks: [RESULT.json [LIVES FIRST-SEED]]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var (lives, first) = arguments.Length > 2 ? (int.Parse(arguments[1]), int.Parse(arguments[2])) : (LivesReported, FirstReported);
        var watch = Stopwatch.StartNew();
        var trials = Enumerable.Range(first, lives).SelectMany(seed => Trials(SimulatedLife.Of(seed), cancellation)).ToList();
        Console.WriteLine($"{lives} invented lives from seed {first}; a limit is foretold where the trend is no chance and goes towards the limit");
        var invented = ForecastFigures.Table(trials);
        ForecastReport.Print(invented);
        var anyway = ForecastFigures.Table(trials.ConvertAll(t => t with { IsGiven = !double.IsNaN(t.Median) })).Where(f => f.Group == "all").ToList();
        Console.WriteLine("whether or not it would be told:");
        ForecastReport.Print(anyway);
        var cracks = Cracks();
        Console.WriteLine("growth of fatigue cracks, 15 of 21 test pieces that reached the limit (Lu and Meeker 1993):");
        ForecastReport.Print(cracks);
        Console.WriteLine($"{watch.Elapsed.TotalSeconds:F1} s, lives invented included");
        if (arguments.Length > 0)
        {
            File.WriteAllText(arguments[0], JsonSerializer.Serialize(new ForecastResults(lives, first, invented, anyway, cracks), Options));
        }

        return Task.CompletedTask;
    }

    private static IEnumerable<ForecastTrial> Trials(SimulatedLife life, CancellationToken cancellation)
    {
        cancellation.ThrowIfCancellationRequested();
        foreach (var share in Shares)
        {
            var now = life.At(share);
            yield return Trial(life.Kind.ToString(), share, life.End - now, WearForecaster.Forecast(life.Question(now)), isTold: false);
        }
    }

    private static List<ForecastFigures> Cracks()
    {
        var cracks = CrackGrowth.Read(Path.Combine(AppContext.BaseDirectory, "Analysis", "fatigue.csv")).Where(c => c.End is not null).ToList();
        return [.. CrackShares.Select(share => ForecastFigures.Of(
            "cracks", share, cracks.ConvertAll(c => Trial("cracks", share, (1 - share) * c.End!.Value, WearForecaster.Forecast(c.Question(share)), isTold: true))))];
    }

    private static ForecastTrial Trial(string group, double share, double left, WearOutlook? outlook, bool isTold) => outlook is null
        ? new(group, share, left, false, double.NaN, double.NaN, double.NaN)
        : new(group, share, left, isTold || (outlook.ChanceProbability < 0.001 && outlook.TowardsProbability > 0.97), outlook.Lower, outlook.Median, outlook.Upper);
}

/// <param name="Lives">Invented.</param>
/// <param name="FirstSeed">Of them.</param>
/// <param name="Invented">Where a limit is foretold.</param>
/// <param name="Anyway">Whether or not it would be told.</param>
/// <param name="Cracks">Published crack growth.</param>
internal sealed record ForecastResults(int Lives, int FirstSeed, IReadOnlyList<ForecastFigures> Invented, IReadOnlyList<ForecastFigures> Anyway, IReadOnlyList<ForecastFigures> Cracks);
