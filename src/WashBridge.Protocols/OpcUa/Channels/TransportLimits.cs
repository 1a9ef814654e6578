namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>What one side tells the other when a connection begins (OPC 10000-6, 7.1.2.3 and 7.1.2.4).</summary>
public sealed record TransportLimits
{
    /// <summary>The least that a side must be able to receive and send in one chunk.</summary>
    public const int LeastBufferSize = 8192;

    public static TransportLimits Default { get; } = new();

    /// <summary>The largest chunk accepted, 8,192 to 16,777,216 bytes; 65,536 by default.</summary>
    public int ReceiveBufferSize { get; init; } = 65_536;

    /// <summary>The largest chunk sent, 8,192 to 16,777,216 bytes; 65,536 by default.</summary>
    public int SendBufferSize { get; init; } = 65_536;

    /// <summary>The longest message accepted, all chunks together without their headers: 8,192 to 1,073,741,824 bytes; 16 MB by default.</summary>
    public int MaxMessageSize { get; init; } = 16 * 1024 * 1024;

    /// <summary>Most chunks of a message accepted, 1 to 1,000,000; 2,048 by default, which is the longest message in the smallest chunks.</summary>
    public int MaxChunkCount { get; init; } = 2048;

    internal void Validate()
    {
        Ranges.Check(ReceiveBufferSize, nameof(ReceiveBufferSize), LeastBufferSize, 16 * 1024 * 1024);
        Ranges.Check(SendBufferSize, nameof(SendBufferSize), LeastBufferSize, 16 * 1024 * 1024);
        Ranges.Check(MaxMessageSize, nameof(MaxMessageSize), LeastBufferSize, 1024 * 1024 * 1024);
        Ranges.Check(MaxChunkCount, nameof(MaxChunkCount), 1, 1_000_000);
    }
}
