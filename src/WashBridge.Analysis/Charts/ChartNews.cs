using WashBridge.Core.Drift;

namespace WashBridge.Analysis.Charts;

/// <summary>What a figure's charts tell after a value.</summary>
public abstract record ChartNews;

/// <summary>The figure left its reference, or went much further away.</summary>
public sealed record ChartSignal : ChartNews
{
    public required ChartKind Kind { get; init; }

    /// <summary>1: upwards, -1: downwards.</summary>
    public required int Direction { get; init; }

    /// <summary>Median of the reference, and robust standard deviation of single values.</summary>
    public required double Centre { get; init; }

    public required double Spread { get; init; }

    public required int ReferenceCycles { get; init; }

    /// <summary>Mean change since the onset from the reference's mean, in the figure's unit, and its standard uncertainty.</summary>
    public required double Size { get; init; }

    public required double SizeUncertainty { get; init; }

    /// <summary>Number of the cycle that most probably was the first changed one, and the interval that holds it with about 90 %.</summary>
    public required int Onset { get; init; }

    public required int OnsetEarliest { get; init; }

    public required int OnsetLatest { get; init; }

    /// <summary>Values since the onset, both ends included.</summary>
    public required int ValuesSince { get; init; }

    /// <summary>It was told before, and has at least doubled since.</summary>
    public bool IsWorse { get; init; }
}

/// <summary>The figure is back within its reference.</summary>
public sealed record ChartReturn : ChartNews;
