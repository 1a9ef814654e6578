namespace WashBridge.Simulator.Physics;

/// <summary>What drifts about zero and always comes back: an Ornstein-Uhlenbeck process, moved exactly over steps of any length.</summary>
/// <param name="random">A stream of its own.</param>
/// <param name="deviation">Standard deviation in the long run; 0: stands still.</param>
/// <param name="timeConstant">Seconds in which it forgets where it was.</param>
internal sealed class Wander(DeterministicRandom random, double deviation, double timeConstant)
{
    private Lag _lag = new(timeConstant);

    public double Value { get; private set; }

    public void Step(double seconds)
    {
        if (deviation > 0)
        {
            var kept = 1 - _lag.Share(seconds);
            Value = (Value * kept) + (deviation * Math.Sqrt(1 - (kept * kept)) * random.NextGaussian());
        }
    }
}
