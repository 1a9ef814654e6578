namespace WashBridge.Protocols.Modbus;

/// <summary>How points are gathered into requests.</summary>
public sealed record ReadPlanOptions
{
    /// <summary>Registers between two points (or 16 times as many bits) that a request may read for nothing to save another, 0 to 120; 8 by default.</summary>
    public int GapAllowance { get; init; } = 8;

    /// <summary>Registers a request, 1 to 125; 125 by default.</summary>
    public int MaxRegisters { get; init; } = ReadPdu.MaxRegisters;

    /// <summary>Bits a request, 1 to 2,000; 2,000 by default.</summary>
    public int MaxBits { get; init; } = ReadPdu.MaxBits;

    /// <summary>How long a point that the device refused is not asked for again. 0 to 1 day; 1 min by default.</summary>
    public TimeSpan RefusalMemory { get; init; } = TimeSpan.FromMinutes(1);

    internal void Validate()
    {
        Check(GapAllowance is >= 0 and <= 120, nameof(GapAllowance), GapAllowance, "0 to 120");
        Check(MaxRegisters is >= 1 and <= ReadPdu.MaxRegisters, nameof(MaxRegisters), MaxRegisters, "1 to 125");
        Check(MaxBits is >= 1 and <= ReadPdu.MaxBits, nameof(MaxBits), MaxBits, "1 to 2000");
        Check(RefusalMemory >= TimeSpan.Zero && RefusalMemory <= TimeSpan.FromDays(1), nameof(RefusalMemory), RefusalMemory, "0 to 1 day");
    }

    private static void Check(bool isAllowed, string name, object found, string allowed)
    {
        if (!isAllowed)
        {
            throw new ArgumentOutOfRangeException(name, found, $"allowed: {allowed}");
        }
    }
}
