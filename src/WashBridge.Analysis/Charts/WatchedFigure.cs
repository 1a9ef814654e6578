using WashBridge.Core.Drift;
using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>One figure of a washer that has charts.</summary>
/// <param name="name">Of the figure, without its station.</param>
/// <param name="station">0: the washer's.</param>
/// <param name="isPeers">Not the figure itself, but its difference from the washer's other stations.</param>
/// <param name="washer">Makes the lots of equal figures of two washers different.</param>
internal sealed class WatchedFigure(string name, int station, bool isPeers, string washer)
{
    public string Name => name;

    public int Station => station;

    public bool IsPeers => isPeers;

    /// <summary>As findings name it.</summary>
    public string Key { get; } = (isPeers ? Feature.PeersPrefix : "") + Feature.KeyOf(name, station);

    public FeatureChart Chart { get; } = new($"{washer}/{(isPeers ? Feature.PeersPrefix : "")}{Feature.KeyOf(name, station)}");

    public FigureManner Manner { get; } = FigureManner.Of(name);

    public ValueBlock Block { get; } = new(FigureManner.Of(name).Block);

    /// <summary>Values since the watch began.</summary>
    public int Cycles { get; set; }

    /// <summary>Values that the chart was given: how often it is given one decides its part of the promise.</summary>
    public int Values { get; set; }

    /// <summary>Number of the cycle that gave the last value, what that was and how well it was known.</summary>
    public int LastCycle { get; set; } = -1;

    public double LastValue { get; set; }

    public double LastUncertainty { get; set; }

    /// <summary>Number of the cycle in which the chart was last given a value.</summary>
    public int LastCharted { get; set; } = -1;

    /// <summary>A drift stands that was large enough to be told.</summary>
    public bool IsTold { get; set; }

    public string Unit => FeatureCatalogue.Find(name)?.Unit ?? "";

    /// <summary>How a finding's chart is named.</summary>
    public ChartKind KindOf(ChartSignal signal) => isPeers ? ChartKind.Peers : signal.Kind;
}
