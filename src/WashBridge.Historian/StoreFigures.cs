using WashBridge.Core.Time;

namespace WashBridge.Historian;

/// <summary>What a historian's file holds.</summary>
/// <param name="HotBatches">Commits of frames that are not sealed yet.</param>
/// <param name="Segments">Sealed stretches of washers.</param>
/// <param name="SealedFrames">Frames in them.</param>
/// <param name="SealedSamples">Samples in them.</param>
/// <param name="First">When the earliest frame that is kept was read; null: there is none.</param>
/// <param name="Last">When the latest was.</param>
public sealed record StoreFigures(long HotBatches, long Segments, long SealedFrames, long SealedSamples, Instant? First, Instant? Last);
