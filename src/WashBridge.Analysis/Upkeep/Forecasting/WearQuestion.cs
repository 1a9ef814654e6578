namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>What a forecast is made from.</summary>
/// <param name="Blocks">In order of time.</param>
/// <param name="Reference">The index when nothing was worn.</param>
/// <param name="Limit">The index at which it counts as failed; other than the reference.</param>
/// <param name="Now">In cycles since the reference began, not before the last block.</param>
public sealed record WearQuestion(IReadOnlyList<WearBlock> Blocks, double Reference, double Limit, double Now);
