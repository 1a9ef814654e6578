using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Simulator.Registers;

/// <summary>Gives every instrument its address.</summary>
internal static class MapBuilder
{
    private const int KegIdCharacters = 12;

    public static IReadOnlyList<MappedRegister> Build(IReadOnlyList<Instrument> instruments, RegisterLayout layout) =>
        layout == RegisterLayout.Wide ? Wide(instruments) : Packed(instruments);

    private static List<MappedRegister> Wide(IReadOnlyList<Instrument> instruments)
    {
        int flag = 0, measurement = 0, code = 0, counter = 10, setpoint = 40, text = 100;
        return [.. instruments.Select(i => i switch
        {
            { Signal.Type: SignalType.Flag } => Map(i, new ModbusPoint(ModbusTable.DiscreteInputs, Next(ref flag, 1), RegisterType.Bit), 1),
            { Signal.Type: SignalType.Text } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref text, KegIdCharacters / 2), RegisterType.Text, TextLength: KegIdCharacters), 1),
            { Signal.Type: SignalType.Integer, Group: 0 } when !IsCount(i) => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref code, 1), RegisterType.UInt16), 1),
            { Signal.Type: SignalType.Integer, Group: 0 } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref code, 2), RegisterType.UInt32), 1),
            { Signal.Type: SignalType.Integer } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref counter, 2), RegisterType.UInt32), 1),
            { Group: 1 } => Map(i, new ModbusPoint(ModbusTable.InputRegisters, Next(ref measurement, 2), RegisterType.Float32), 1),
            _ => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref setpoint, 1), RegisterType.UInt16), i.Resolution),
        })];
    }

    private static List<MappedRegister> Packed(IReadOnlyList<Instrument> instruments)
    {
        int flag = 0, code = 10, counter = 20, measurement = 40, setpoint = 100, text = 150;
        return [.. instruments.Select(i => i switch
        {
            { Signal.Type: SignalType.Flag } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, (ushort)(flag / 16), RegisterType.Bit, BitNumber: flag++ % 16), 1),
            { Signal.Type: SignalType.Text } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref text, KegIdCharacters / 2), RegisterType.Text, TextLength: KegIdCharacters, Bytes: ByteOrder.LowFirst), 1),
            { Signal.Type: SignalType.Integer, Group: 0 } when !IsCount(i) => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref code, 1), RegisterType.UInt16), 1),
            { Signal.Type: SignalType.Integer, Group: 0 } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref code, 2), RegisterType.UInt32, Words: WordOrder.LowFirst), 1),
            { Signal.Type: SignalType.Integer } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref counter, 2), RegisterType.UInt32, Words: WordOrder.LowFirst), 1),
            { Group: 1 } => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref measurement, 1), RegisterType.Int16), i.Resolution),
            _ => Map(i, new ModbusPoint(ModbusTable.HoldingRegisters, Next(ref setpoint, 1), RegisterType.UInt16), i.Resolution),
        })];
    }

    private static bool IsCount(Instrument instrument) => instrument.Signal.Name == "sequence.cycle-count";

    private static MappedRegister Map(Instrument instrument, ModbusPoint point, double scale) =>
        new(instrument.Signal, point, scale, instrument.Group, instrument.Signal.Type == SignalType.Quantity && instrument.Group == 1 ? DeadBand(instrument) : 0);

    /// <summary>Three standard deviations of the noise, and never less than the resolution.</summary>
    private static double DeadBand(Instrument instrument) => Math.Round(Math.Max(3 * instrument.Noise, instrument.Resolution), 4);

    private static ushort Next(ref int address, int registers)
    {
        var at = address;
        address += registers;
        return (ushort)at;
    }
}
