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
    /// <summary>Registers that it takes; 0 for a coil or discrete input.</summary>
    public int Registers => Point.Type switch
    {
        RegisterType.Bit => Point.Table is ModbusTable.Coils or ModbusTable.DiscreteInputs ? 0 : 1,
        RegisterType.Int16 or RegisterType.UInt16 or RegisterType.Bcd16 => 1,
        RegisterType.Int32 or RegisterType.UInt32 or RegisterType.Float32 or RegisterType.Bcd32 => 2,
        RegisterType.Int64 or RegisterType.UInt64 or RegisterType.Float64 => 4,
        RegisterType.Text => (Point.TextLength + 1) / 2,
        _ => throw new ArgumentOutOfRangeException(nameof(Point), Point.Type, null),
    };
}
