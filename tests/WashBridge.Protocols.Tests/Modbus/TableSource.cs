using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>Every register holds its own address, every odd bit is set; addresses may be refused.</summary>
internal sealed class TableSource : IModbusDataSource
{
    private readonly Lock gate = new();
    private readonly List<(byte Unit, ModbusTable Table, ushort Address, int Quantity)> asked = [];

    public Dictionary<ushort, ModbusExceptionCode> Refused { get; } = [];

    public Dictionary<byte, string> Identity { get; } = [];

    public int MaxQuantity { get; set; } = 2000;

    public Action? BeforeRead { get; set; }

    /// <summary>Every request that reached the source.</summary>
    public IReadOnlyList<(byte Unit, ModbusTable Table, ushort Address, int Quantity)> Asked
    {
        get
        {
            lock (gate)
            {
                return [.. asked];
            }
        }
    }

    public void ForgetAsked()
    {
        lock (gate)
        {
            asked.Clear();
        }
    }

    public ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination)
    {
        for (var i = 0; i < destination.Length; i++)
        {
            destination[i] = (address + i) % 2 == 1;
        }

        return Judge(unit, table, address, destination.Length);
    }

    public ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination)
    {
        for (var i = 0; i < destination.Length; i++)
        {
            destination[i] = (ushort)(address + i);
        }

        return Judge(unit, table, address, destination.Length);
    }

    public IReadOnlyDictionary<byte, string> Identify(byte unit) => Identity;

    private ModbusExceptionCode? Judge(byte unit, ModbusTable table, ushort address, int quantity)
    {
        BeforeRead?.Invoke();
        lock (gate)
        {
            asked.Add((unit, table, address, quantity));
        }

        if (quantity > MaxQuantity)
        {
            return ModbusExceptionCode.IllegalDataValue;
        }

        for (int i = address; i < address + quantity; i++)
        {
            if (Refused.TryGetValue((ushort)i, out var code))
            {
                return code;
            }
        }

        return null;
    }
}
