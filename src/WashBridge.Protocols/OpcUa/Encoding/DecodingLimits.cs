namespace WashBridge.Protocols.OpcUa.Encoding;

/// <summary>What a decoder accepts from a peer, so that a small message cannot ask for much memory (OPC 10000-6, 5.1.10).</summary>
public sealed record DecodingLimits
{
    public static DecodingLimits Default { get; } = new();

    /// <summary>Elements of one array.</summary>
    public int MaxArrayLength { get; init; } = 1_000_000;

    /// <summary>Bytes of one string, byte string or XML element.</summary>
    public int MaxStringLength { get; init; } = 4 * 1024 * 1024;

    /// <summary>Variants, data values, extension objects and diagnostics within one another; the standard asks for 100.</summary>
    public int MaxDepth { get; init; } = 100;

    /// <summary>Bytes of memory that arrays and strings of one message may take once decoded.</summary>
    public int MaxDecodedBytes { get; init; } = 64 * 1024 * 1024;
}
