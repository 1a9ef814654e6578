using System.Buffers.Binary;
using System.Text;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Simulator.Registers;

/// <summary>
/// The controller's memory as Modbus shows it. All that one request reads is of one scan. Addresses outside the map are refused with
/// exception 02, as V1.1b3, 7 says; so is a table without anything in it.
/// </summary>
public sealed class RegisterImage : IModbusDataSource
{
    private static readonly IReadOnlyDictionary<byte, string> Identity = new Dictionary<byte, string>
    {
        [0] = "Example",
        [1] = "KW-SIM",
        [2] = "1.0",
    };

    private readonly SimulatedWasher _washer;
    private readonly bool[] _discreteInputs;
    private readonly ushort[] _inputs;
    private readonly ushort[] _holding;
    private readonly bool[] _discreteMapped;
    private readonly bool[] _inputsMapped;
    private readonly bool[] _holdingMapped;
    private long _scan = -1;

    internal RegisterImage(SimulatedWasher washer)
    {
        _washer = washer;
        _discreteInputs = new bool[Extent(ModbusTable.DiscreteInputs)];
        _inputs = new ushort[Extent(ModbusTable.InputRegisters)];
        _holding = new ushort[Extent(ModbusTable.HoldingRegisters)];
        _discreteMapped = Mapped(ModbusTable.DiscreteInputs);
        _inputsMapped = Mapped(ModbusTable.InputRegisters);
        _holdingMapped = Mapped(ModbusTable.HoldingRegisters);
    }

    public ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination)
    {
        lock (_washer.Gate)
        {
            if (table != ModbusTable.DiscreteInputs || Refuses(_discreteMapped, address, destination.Length))
            {
                return ModbusExceptionCode.IllegalDataAddress;
            }

            Refresh();
            _discreteInputs.AsSpan(address, destination.Length).CopyTo(destination);
            return null;
        }
    }

    public ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination)
    {
        lock (_washer.Gate)
        {
            var (registers, mapped) = table switch
            {
                ModbusTable.InputRegisters => (_inputs, _inputsMapped),
                ModbusTable.HoldingRegisters => (_holding, _holdingMapped),
                _ => ([], []),
            };
            if (Refuses(mapped, address, destination.Length))
            {
                return ModbusExceptionCode.IllegalDataAddress;
            }

            Refresh();
            registers.AsSpan(address, destination.Length).CopyTo(destination);
            return null;
        }
    }

    public IReadOnlyDictionary<byte, string> Identify(byte unit) => Identity;

    private bool Refuses(bool[] mapped, int address, int count) =>
        address + count > mapped.Length || (_washer.Options.RefusesHoles && mapped.AsSpan(address, count).Contains(false));

    private int Extent(ModbusTable table) =>
        _washer.Map.Where(m => m.Point.Table == table).Select(m => m.Point.Address + Math.Max(1, m.Registers)).DefaultIfEmpty(0).Max();

    private bool[] Mapped(ModbusTable table)
    {
        var mapped = new bool[Extent(table)];
        foreach (var register in _washer.Map.Where(m => m.Point.Table == table))
        {
            mapped.AsSpan(register.Point.Address, Math.Max(1, register.Registers)).Fill(true);
        }

        return mapped;
    }

    private void Refresh()
    {
        if (_scan == _washer.ScanNumber)
        {
            return;
        }

        _scan = _washer.ScanNumber;
        for (var i = 0; i < _washer.Map.Count; i++)
        {
            var point = _washer.Map[i].Point;
            switch (point.Type)
            {
                case RegisterType.Bit when point.Table == ModbusTable.DiscreteInputs:
                    _discreteInputs[point.Address] = _washer.Raw(i) != 0;
                    break;
                case RegisterType.Bit:
                    var mask = (ushort)(1 << point.BitNumber);
                    _holding[point.Address] = (ushort)((_holding[point.Address] & ~mask) | (_washer.Raw(i) != 0 ? mask : 0));
                    break;
                case RegisterType.Text:
                    WriteText(point, _washer.RawText(i));
                    break;
                default:
                    WriteNumber(point, _washer.Raw(i));
                    break;
            }
        }
    }

    private void WriteNumber(ModbusPoint point, double raw)
    {
        Span<byte> bytes = stackalloc byte[4];
        var registers = point.Table == ModbusTable.InputRegisters ? _inputs : _holding;
        switch (point.Type)
        {
            case RegisterType.Int16:
                registers[point.Address] = unchecked((ushort)(short)raw);
                return;
            case RegisterType.UInt16:
                registers[point.Address] = (ushort)raw;
                return;
            case RegisterType.UInt32:
                BinaryPrimitives.WriteUInt32BigEndian(bytes, (uint)raw);
                break;
            case RegisterType.Float32:
                BinaryPrimitives.WriteSingleBigEndian(bytes, (float)raw);
                break;
            default:
                throw new InvalidOperationException($"no washer of the simulator keeps a {point.Type}");
        }

        var high = BinaryPrimitives.ReadUInt16BigEndian(bytes);
        var low = BinaryPrimitives.ReadUInt16BigEndian(bytes[2..]);
        (registers[point.Address], registers[point.Address + 1]) = point.Words == WordOrder.HighFirst ? (high, low) : (low, high);
    }

    private void WriteText(ModbusPoint point, string text)
    {
        Span<byte> bytes = stackalloc byte[point.TextLength + (point.TextLength % 2)];
        bytes.Clear();
        Encoding.ASCII.GetBytes(text.AsSpan(0, Math.Min(text.Length, point.TextLength)), bytes);
        for (var i = 0; i < bytes.Length / 2; i++)
        {
            var register = BinaryPrimitives.ReadUInt16BigEndian(bytes[(2 * i)..]);
            _holding[point.Address + i] = point.Bytes == ByteOrder.HighFirst ? register : BinaryPrimitives.ReverseEndianness(register);
        }
    }
}
