namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>One piece of evidence: how clearly something moved.</summary>
/// <param name="Name">Such as <c>drain</c> or <c>air</c>; causes name signs by it.</param>
/// <param name="Value">From -1 (clearly fell) over 0 (as in the reference) to 1 (clearly rose).</param>
/// <param name="Says">A sentence for people.</param>
public sealed record Sign(string Name, double Value, string Says);
