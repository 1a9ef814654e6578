using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Simulator.Registers;

/// <summary>Where a simulated washer keeps one signal: value = raw x scale.</summary>
/// <param name="Signal">The signal.</param>
/// <param name="Point">Its address and type.</param>
/// <param name="Scale">Of the signal's unit for one count; 1 for flags, codes, text and floating point.</param>
/// <param name="Group">The poll group it suits: 0 sequence, 1 measurements, 2 what changes rarely.</param>
/// <param name="DeadBand">A change of at most this much is noise, in the signal's unit.</param>
public sealed record MappedRegister(Signal Signal, ModbusPoint Point, double Scale, int Group, double DeadBand)
{
    /// <summary>Registers, or bits in the tables of bits, that it takes.</summary>
    public int Width => RegisterCodec.Width(Point);
}
