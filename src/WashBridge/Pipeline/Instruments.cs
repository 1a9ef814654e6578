using System.Diagnostics.Metrics;

namespace WashBridge.Pipeline;

/// <summary>What the bridge measures of itself. Durations are in seconds; washers are told apart by the tag <c>washer</c>.</summary>
internal static class Instruments
{
    public const string MeterName = "WashBridge";
    public const string PollLatenessName = "washbridge.poll.lateness";

    private static readonly Meter Meter = new(MeterName);

    /// <summary>How late a poll started after it was due.</summary>
    public static Histogram<double> PollLateness { get; } = Meter.CreateHistogram<double>(PollLatenessName, "s");

    /// <summary>First request sent to last response received.</summary>
    public static Histogram<double> PollRoundTrip { get; } = Meter.CreateHistogram<double>("washbridge.poll.round_trip", "s");

    /// <summary>Poll slots left out because the poll before still ran.</summary>
    public static Counter<long> PollOverruns { get; } = Meter.CreateCounter<long>("washbridge.poll.overruns", "{slot}");

    /// <summary>Polls that brought nothing.</summary>
    public static Counter<long> PollFailures { get; } = Meter.CreateCounter<long>("washbridge.poll.failures", "{poll}");

    /// <summary>An OPC UA server's clock less ours, the middle of what is known.</summary>
    public static Gauge<double> ServerClockAhead { get; } = Meter.CreateGauge<double>("washbridge.server_clock.ahead", "s");

    /// <summary>Response received to frame committed, for the oldest frame of each commit.</summary>
    public static Histogram<double> CommitDelay { get; } = Meter.CreateHistogram<double>("washbridge.commit.delay", "s");
}
