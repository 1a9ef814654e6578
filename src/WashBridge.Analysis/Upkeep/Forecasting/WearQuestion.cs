namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>What a forecast is made from.</summary>
/// <param name="Blocks">In order of time.</param>
/// <param name="Reference">The index when nothing was worn.</param>
/// <param name="Limit">The index at which it counts as failed; other than the reference.</param>
/// <param name="Now">In cycles since the reference began, not before the last block.</param>
/// <param name="Exactness">Standard deviation of a block's error that does not get smaller with more values, such as rounding; in the index's unit.</param>
/// <param name="LimitExactness">Standard uncertainty of the limit, where it was learned; in the index's unit.</param>
/// <param name="NaturalPower">Power of the scale in which it likely runs straight; null: none is likelier than others.</param>
public sealed record WearQuestion(IReadOnlyList<WearBlock> Blocks, double Reference, double Limit, double Now, double Exactness = 0, double LimitExactness = 0, double? NaturalPower = null);
