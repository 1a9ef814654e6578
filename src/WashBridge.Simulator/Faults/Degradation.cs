namespace WashBridge.Simulator.Faults;

/// <summary>One gradual fault that has begun: how much worse it gets with each cycle.</summary>
internal sealed class Degradation(GradualFault fault, DeterministicRandom random)
{
    public GradualFault Fault => fault;

    /// <summary>In the fault's unit. A Wiener process may give some back; a gamma process has the same mean and spread.</summary>
    /// <param name="more">Mean change beyond that of the cycle itself.</param>
    public double NextCycle(double more = 0)
    {
        var mean = fault.PerCycle + more;
        if (fault.Spread <= 0)
        {
            return mean;
        }

        if (fault.Path == WearPath.Wiener || mean <= 0)
        {
            return mean + (fault.Spread * random.NextGaussian());
        }

        var scale = fault.Spread * fault.Spread / mean;
        return scale * random.NextGamma(mean / scale);
    }
}
