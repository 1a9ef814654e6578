namespace WashBridge.Protocols.OpcUa.Encoding;

/// <summary>A structure: its fields, encoded one after the other (OPC 10000-6, 5.2.6).</summary>
public interface IStructure
{
    void Write(UaWriter writer);
}

public interface IStructure<TSelf> : IStructure
    where TSelf : IStructure<TSelf>
{
    /// <exception cref="UaException">BadDecodingError or BadEncodingLimitsExceeded.</exception>
    static abstract TSelf Read(ref UaReader reader);
}

/// <summary>A structure that can be sent as a message or within an extension object.</summary>
public interface IEncodable<TSelf> : IStructure<TSelf>
    where TSelf : IEncodable<TSelf>
{
    /// <summary>The numeric id, in namespace 0, of the type's binary encoding (OPC 10000-6, annex A.3).</summary>
    static abstract uint EncodingId { get; }
}
