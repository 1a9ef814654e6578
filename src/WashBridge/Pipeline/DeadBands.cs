using WashBridge.Configuration;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Pipeline;

/// <summary>How far a signal can be from the value that its frames hold.</summary>
internal static class DeadBands
{
    /// <summary>The tag's dead band, or half a count of a register that holds whole numbers where that is more; in the signal's unit.</summary>
    public static double Of(Tag tag) => Math.Max(tag.DeadBand, IsWhole(tag.Source) ? Math.Abs(tag.Scale) / 2 : 0);

    private static bool IsWhole(TagSource source) => source is ModbusSource { Point.Type: not (RegisterType.Bit or RegisterType.Float32 or RegisterType.Float64 or RegisterType.Text) };
}
