using System.Diagnostics.Metrics;

namespace WashBridge.Telemetry;

/// <summary>What folding the log costs: by <c>follower</c>, the analyst (frames to verdicts and figures) and the analysis (figures to findings).</summary>
internal static class AnalysisInstruments
{
    private static readonly Histogram<double> Duration = Measures.Seconds("washbridge.analysis.duration", "How long a batch of the log took to fold, what it appends included.");

    public static void Took(string follower, long since) => Duration.Record(Measures.SecondsSince(since), new KeyValuePair<string, object?>(Measures.Follower, follower));
}
