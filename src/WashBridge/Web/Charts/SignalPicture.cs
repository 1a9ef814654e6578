using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Web.Charts;

/// <summary>What the points of a picture stand for.</summary>
internal enum SignalDetail
{
    /// <summary>Every sample that was recorded.</summary>
    Samples = 0,

    /// <summary>Lowest, highest and last value of each part of the period.</summary>
    Parts = 1,

    /// <summary>Lowest, highest and mean of whole hours.</summary>
    Hours = 2,
}

/// <summary>A signal in a period, with few enough points to draw.</summary>
internal sealed record SignalPicture
{
    public required Signal Signal { get; init; }

    public required SignalDetail Detail { get; init; }

    /// <summary>How much time a point stands for; zero for samples.</summary>
    public required TimeSpan PartSpan { get; init; }

    public required IReadOnlyList<SignalPoint> Points { get; init; }

    /// <summary>Where nothing was read, or what was read cannot be trusted.</summary>
    public required IReadOnlyList<SignalStretch> Stretches { get; init; }

    /// <summary>Samples recorded in the period.</summary>
    public required long Samples { get; init; }

    public double? Lowest => Points.Min(p => p.Low);

    public double? Highest => Points.Max(p => p.High);

    public SignalPoint? Last => Points.LastOrDefault(p => p.Value is not null);
}

/// <summary>A value that holds from <paramref name="At"/> to the next point; null values: nothing is known until then.</summary>
internal sealed record SignalPoint(Instant At, double? Value, double? Low, double? High);

internal enum StretchKind
{
    /// <summary>Nothing was read.</summary>
    Gap = 0,

    /// <summary>The controller's side says that the value is doubtful.</summary>
    Uncertain = 1,

    /// <summary>What was read is no value.</summary>
    Bad = 2,
}

internal sealed record SignalStretch(Instant From, Instant Until, StretchKind Kind, string Reason = "");
