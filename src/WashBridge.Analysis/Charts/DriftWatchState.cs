namespace WashBridge.Analysis.Charts;

/// <summary>What the watch of drifts remembers.</summary>
internal sealed record DriftWatchState(
    string? Recipe, int Cycles, int NextCount, double FiguresEvery, double PeersEvery, bool[] DrainRecipeChanged, string[] Drains, CycleLogState Log, WatchedFigureState[] Figures,
    FigureGroupState[]? Groups);

/// <summary>What it remembers of one figure.</summary>
internal sealed record WatchedFigureState(string Name, int Station, bool IsPeers, int Values, int LastCycle, double LastValue, FeatureChartState Chart, ValueBlockState Block, int Cycles, double LastUncertainty, int LastCharted,
    bool IsTold);
