namespace WashBridge.Simulator.Physics;

/// <summary>The share of the way that a first-order lag covers in a step, worked out once for steps that are mostly alike.</summary>
internal struct Lag(double timeConstant)
{
    private double _seconds = double.NaN;
    private double _share;

    /// <summary>As <see cref="Nature.Approach"/>, to the last bit.</summary>
    public double Share(double seconds)
    {
        if (seconds != _seconds)
        {
            _seconds = seconds;
            _share = Nature.Approach(seconds, timeConstant);
        }

        return _share;
    }
}
