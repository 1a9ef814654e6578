using System.Diagnostics;
using System.Diagnostics.Metrics;

namespace WashBridge.Telemetry;

/// <summary>The meter of all that WashBridge measures of itself; METRICS.md beside this file says what each instrument means.</summary>
internal static class Measures
{
    public const string MeterName = "WashBridge";

    public const string Washer = "washer";
    public const string Follower = "follower";

    /// <summary>Of those that count as they go, wherever in the process. Gauges of a service belong to the service: <see cref="BridgeGauges"/>.</summary>
    public static Meter Shared { get; } = new(MeterName);

    /// <summary>Limits of the classes in seconds, from a millisecond to ten seconds.</summary>
    public static Histogram<double> Seconds(string name, string meaning) => Shared.CreateHistogram(
        name, "s", meaning, advice: new InstrumentAdvice<double> { HistogramBucketBoundaries = [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10] });

    public static double SecondsSince(long stamp) => Stopwatch.GetElapsedTime(stamp).TotalSeconds;
}
