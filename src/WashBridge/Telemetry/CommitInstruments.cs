using System.Diagnostics.Metrics;

namespace WashBridge.Telemetry;

/// <summary>Frames on their way into the historian.</summary>
internal static class CommitInstruments
{
    public static Histogram<double> Delay { get; } = Measures.Seconds("washbridge.commit.delay", "Reply received to frame committed, for the oldest frame of each commit.");

    public static Histogram<double> Duration { get; } = Measures.Seconds("washbridge.commit.duration", "How long a commit of frames took.");

    public static Counter<long> Frames { get; } = Measures.Shared.CreateCounter<long>("washbridge.commit.frames", "{frame}", "Frames committed.");

    public static Counter<long> Failures { get; } = Measures.Shared.CreateCounter<long>("washbridge.commit.failures", "{commit}", "Commits that failed. Their frames are kept and tried again.");
}
