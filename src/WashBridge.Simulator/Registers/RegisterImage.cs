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
        _washer.Map.Where(m => m.Point.Table == table).Select(m => m.Point.Address + m.Width).DefaultIfEmpty(0).Max();

    private bool[] Mapped(ModbusTable table)
    {
        var mapped = new bool[Extent(table)];
        foreach (var register in _washer.Map.Where(m => m.Point.Table == table))
        {
            mapped.AsSpan(register.Point.Address, register.Width).Fill(true);
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
            if (point.Table == ModbusTable.DiscreteInputs)
            {
                _discreteInputs[point.Address] = _washer.Raw(i) != 0;
                continue;
            }

            var registers = (point.Table == ModbusTable.InputRegisters ? _inputs : _holding).AsSpan(point.Address, _washer.Map[i].Width);
            if (point.Type == RegisterType.Text)
            {
                RegisterCodec.EncodeText(point, _washer.RawText(i), registers);
            }
            else
            {
                RegisterCodec.Encode(point, _washer.Raw(i), registers);
            }
        }
    }
}
