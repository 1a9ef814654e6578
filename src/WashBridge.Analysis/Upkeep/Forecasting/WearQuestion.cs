namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>What a forecast is made from.</summary>
/// <param name="Blocks">In order of time.</param>
/// <param name="Reference">The index when nothing was worn.</param>
/// <param name="Limit">The index at which it counts as failed; other than the reference.</param>
/// <param name="Now">In cycles since the reference began, not before the last block.</param>
/// <param name="Exactness">Standard deviation of a block's error that does not get smaller with more values, such as rounding; in the index's unit.</param>
public sealed record WearQuestion(IReadOnlyList<WearBlock> Blocks, double Reference, double Limit, double Now, double Exactness = 0);
