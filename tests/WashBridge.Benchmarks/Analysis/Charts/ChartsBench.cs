using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Serialization;

namespace WashBridge.Benchmarks.Analysis.Charts;

/// <summary>
/// Whether the charts keep their promise and how soon they find a change, over 2,000 washer-years and some thousand figure-years, by seeds that nothing was tuned on.
/// </summary>
internal sealed class ChartsBench : IBench
{
    private const int WasherYears = 2000;

    public string Name => "analysis-charts";

    public string What => "drift charts: false alarms against the promise, delays against the best sum, speed; arguments: file for the results as JSON, whose rows are passed over; share of the runs (1); threads (2)";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var share = arguments.Length > 1 ? double.Parse(arguments[1], CultureInfo.InvariantCulture) : 1;
        var clock = Stopwatch.StartNew();
        var options = new ParallelOptions { MaxDegreeOfParallelism = arguments.Length > 2 ? int.Parse(arguments[2], CultureInfo.InvariantCulture) : 2, CancellationToken = cancellation };
        var kept = arguments.Length > 0 ? KeptRows.Of(arguments[0]) : new KeptRows();
        kept.Speed = YearSpeed.Measure();
        Console.WriteLine($"a year of one washer, {kept.Speed.Figures} figures, 25,000 cycles: {kept.Speed.Seconds:0.00} s on one core (bar 3 s: {(kept.Speed.Seconds <= 3 ? "reached" : "missed")}); snapshot {kept.Speed.SnapshotBytes / 1024:N0} KiB");
        DelayRuns.All(options, share, kept);
        PromiseRuns.Figures(options, share, kept);
        PromiseRuns.Washers(options, (int)Math.Ceiling(WasherYears * share), kept);
        kept.Save();
        Console.WriteLine($"took {clock.Elapsed.TotalMinutes:0.0} min");
        return Task.CompletedTask;
    }
}

/// <param name="Figures">Watched figures, drain indices included; comparisons and groups come on top.</param>
internal sealed record SpeedResult(int Figures, int Cycles, double Seconds, int SnapshotBytes);

/// <param name="Level">figure or washer.</param>
/// <param name="Kind">How values are distributed; of a washer: mixed.</param>
/// <param name="Every">The promise: one false alarm in so many cycles.</param>
/// <param name="Cycles">In which a false alarm could be given.</param>
/// <param name="Ratio">False alarms over those promised: 1 is as promised.</param>
/// <param name="StandardError">Of the ratio, from its scatter between runs.</param>
internal sealed record PromiseResult(string Level, string Kind, double Every, int Years, long Cycles, long FalseAlarms, double PerThousandCycles, double Ratio, double StandardError);

/// <param name="Step">Standard deviations; 0: a ramp.</param>
/// <param name="Ramp">Standard deviations a cycle.</param>
/// <param name="Delay">Cycles from the change to the signal, both included; mean.</param>
/// <param name="Best">The same of the two-sided cumulative sum with known parameters: for a step with k of half of it (exact), for a ramp with the best k of six (simulated).</param>
/// <param name="OnsetWithin">Share of signals whose interval holds the true onset.</param>
internal sealed record DelayResult(
    double Every, int Reference, double Step, double Ramp, int Found, double Delay, double Best, double Ratio, double StandardError, double OnsetWithin, double MeanSize);

internal sealed record ChartsResults(SpeedResult Speed, List<PromiseResult> Promises, List<DelayResult> Delays);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, WriteIndented = true)]
[JsonSerializable(typeof(ChartsResults))]
internal sealed partial class ChartsResultsJson : JsonSerializerContext;
