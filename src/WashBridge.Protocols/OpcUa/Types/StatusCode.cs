namespace WashBridge.Protocols.OpcUa;

/// <summary>How a value or a service came out (OPC 10000-4, 7.39). The two top bits are the severity: good, uncertain, bad.</summary>
public readonly record struct StatusCode(uint Value)
{
    private const uint SeverityMask = 0xC000_0000;
    private const uint CodeMask = 0xFFFF_0000;
    private const uint DataValueInfo = 0x0000_0400;
    private const uint OverflowBit = 0x0000_0080;

    public bool IsGood => (Value & SeverityMask) == 0;

    public bool IsUncertain => (Value & SeverityMask) == 0x4000_0000;

    /// <summary>Severity 11 is reserved and counts as bad.</summary>
    public bool IsBad => (Value & 0x8000_0000) != 0;

    /// <summary>The queue of the monitored item lost values next to this one. May stand beside Good.</summary>
    public bool HasOverflow => (Value & DataValueInfo) != 0 && (Value & OverflowBit) != 0;

    /// <summary>Without the flag bits: comparable to the constants of <see cref="StatusCodes"/>.</summary>
    public StatusCode Code => new(Value & CodeMask);

    public StatusCode WithOverflow() => new(Value | DataValueInfo | OverflowBit);

    /// <summary>The standard's name, or the number where there is none here.</summary>
    public override string ToString() => (StatusCodes.NameOf(Code) ?? $"0x{Value:X8}") + (HasOverflow ? " (overflow)" : "");
}
