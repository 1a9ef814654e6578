namespace WashBridge.Protocols.Modbus;

/// <summary>What a <c>ModbusServer</c> serves. Called from several connections at once; must not block.</summary>
public interface IModbusDataSource
{
    /// <summary>Fills <paramref name="destination"/> with coils or discrete inputs from the zero-based <paramref name="address"/> on.</summary>
    /// <returns>Null, or why the device refuses.</returns>
    ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination);

    /// <summary>Fills <paramref name="destination"/> with holding or input registers from the zero-based <paramref name="address"/> on.</summary>
    /// <returns>Null, or why the device refuses.</returns>
    ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination);

    /// <summary>Device identification objects by id (V1.1b3, 6.21: 0 vendor, 1 product code, 2 revision, ...); empty if the unit has none.</summary>
    IReadOnlyDictionary<byte, string> Identify(byte unit);
}
