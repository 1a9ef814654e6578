namespace WashBridge.Analysis.Statistics;

/// <summary>How long one piece lasted.</summary>
/// <param name="Use">Hours, cycles or actuations, above 0.</param>
/// <param name="Failed">False: it was still working then, and its life is only known to be longer (right-censored).</param>
public readonly record struct Lifetime(double Use, bool Failed);
