namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>A value and its standard uncertainty.</summary>
internal readonly record struct Estimate(double Value, double Uncertainty);
