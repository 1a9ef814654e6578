namespace WashBridge.Historian.Encoding;

/// <summary>Sizes that no sound file exceeds: what goes beyond is damage.</summary>
internal static class HistorianLimits
{
    /// <summary>Frames, and samples, in one segment: what options permit, and the largest frame on top.</summary>
    public const int SegmentSamples = 16_000_000;
}
