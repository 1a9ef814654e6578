using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Benchmarks.Analysis.Charts;
using WashBridge.Benchmarks.Analysis.Years;

namespace WashBridge.Benchmarks.Analysis.Results;

/// <summary>
/// Makes the results page of the analysis: judges all simulated washer-years of a folder, measures charts and forecasts where their results are not there yet,
/// and writes tables and pictures.
/// </summary>
internal sealed class AnalysisResultsBench : IBench
{
    private const double Every = 10_000;
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web) { NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals, WriteIndented = true };

    public string Name => "analysis-results";

    public string What => "FOLDER OUTPUT [SHARE]: the results page of the analysis in the folder OUTPUT, from the washer-years below FOLDER/years-report";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        if (arguments.Length < 2)
        {
            throw new ArgumentException(What);
        }

        var (folder, output) = (arguments[0], arguments[1]);
        string[] share = arguments.Length > 2 ? [arguments[2]] : [];
        Directory.CreateDirectory(Path.Combine(folder, "results"));
        var (charts, forecasts, years) = (Kept("charts.json"), Kept("forecasts.json"), Kept("years.json"));
        await new ChartsBench().RunAsync([charts, .. share], cancellation);

        if (!File.Exists(forecasts))
        {
            await new AnalysisForecastsBench().RunAsync([forecasts], cancellation);
        }

        if (!File.Exists(years))
        {
            await File.WriteAllTextAsync(years, JsonSerializer.Serialize(Judge(Path.Combine(folder, "years-report"), cancellation), Options), cancellation);
        }

        var page = new ResultsPage(Read<ChartsResults>(charts), Read<ForecastResults>(forecasts), Read<List<YearFindings>>(years), Every);
        page.Write(output);

        string Kept(string name) => Path.Combine(folder, "results", name);
    }

    private static List<YearFindings> Judge(string folder, CancellationToken cancellation)
    {
        // One at a time: the processor time of the process is that of the year.
        var found = new List<YearFindings>();
        foreach (var seed in YearFiles.Seeds(folder).Order())
        {
            cancellation.ThrowIfCancellationRequested();
            var year = YearFindings.Of(folder, seed, Every);
            found.Add(year);
            Console.WriteLine(
                $"{seed}: {year.Drift.FalseAlarms.Count} false alarms in {year.Drift.QuietCycles:N0} quiet cycles, {year.Drift.Episodes.Count(e => e.Delay is not null)} of {year.Drift.Episodes.Count} episodes found, "
                + $"{year.Forecasts.Causes.Count(c => c.Asked == c.Truth)} causes right, {year.Seconds:N1} s");
        }

        return found;
    }

    private static T Read<T>(string path) => JsonSerializer.Deserialize<T>(File.ReadAllText(path), Options) ?? throw new JsonException($"{path}: nothing in it");
}
