namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>Some cycles in a row as one: a few wild values do not move it.</summary>
/// <param name="Time">Middle of the block, in cycles since the reference began.</param>
/// <param name="Value">Median of the index.</param>
/// <param name="Count">Values in it.</param>
/// <param name="Spread">Standard deviation of single values, robust; NaN where it cannot be told from one value.</param>
public readonly record struct WearBlock(double Time, double Value, double Count, double Spread);
