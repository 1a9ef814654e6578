namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>One piece of evidence: how clearly something moved, or how large its share of what moved is.</summary>
/// <param name="Name">Such as <c>drain</c> or <c>air</c>; causes name signs by it.</param>
/// <param name="Value">From -1 (clearly fell) over 0 (as in the reference) to 1 (clearly rose); a share about from 0 to 1.</param>
/// <param name="Says">A sentence for people.</param>
/// <param name="Uncertainty">Standard uncertainty of the value, from the figures behind it: what is not well known does not weigh much.</param>
/// <param name="IsShare">Says in which way something moved and not how far: it is the same in a slight fault and in a full one.</param>
public sealed record Sign(string Name, double Value, string Says, double Uncertainty = 0, bool IsShare = false);
