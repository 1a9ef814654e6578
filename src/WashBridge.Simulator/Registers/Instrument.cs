using WashBridge.Core.Signals;

namespace WashBridge.Simulator.Registers;

/// <summary>A signal of the washer before it has an address: how to read it and how well it is measured.</summary>
/// <param name="Signal">The signal.</param>
/// <param name="Group">The poll group it suits.</param>
/// <param name="Read">Its value now, without noise.</param>
/// <param name="Noise">Standard deviation of the noise, in the signal's unit.</param>
/// <param name="Resolution">Of the scaled whole number, in the signal's unit.</param>
internal sealed record Instrument(Signal Signal, int Group, Func<double> Read, double Noise = 0, double Resolution = 1)
{
    /// <summary>For text signals.</summary>
    public Func<string>? Text { get; init; }
}
