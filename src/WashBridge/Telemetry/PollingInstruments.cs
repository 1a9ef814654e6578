using System.Diagnostics.Metrics;

namespace WashBridge.Telemetry;

/// <summary>Polls over Modbus, by washer.</summary>
internal static class PollingInstruments
{
    public const string LatenessName = "washbridge.poll.lateness";

    public static Histogram<double> Lateness { get; } = Measures.Seconds(LatenessName, "How late a poll started after it was due.");

    public static Histogram<double> Duration { get; } = Measures.Seconds("washbridge.poll.duration", "First request of a poll sent to last reply received. Polls that brought nothing are not in it.");

    public static Counter<long> Overruns { get; } = Measures.Shared.CreateCounter<long>("washbridge.poll.overruns", "{slot}", "Polls left out because the one before still ran.");

    public static Counter<long> Failures { get; } = Measures.Shared.CreateCounter<long>("washbridge.poll.failures", "{poll}", "Polls that brought nothing.");
}
