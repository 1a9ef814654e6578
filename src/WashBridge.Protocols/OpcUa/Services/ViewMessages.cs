using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Which references to follow (OPC 10000-4, 5.9.2).</summary>
public enum BrowseDirection
{
    Forward = 0,
    Inverse = 1,
    Both = 2,
}

/// <summary>What a node is (OPC 10000-3, 8.29).</summary>
[Flags]
public enum NodeClass
{
    Unspecified = 0,
    Object = 1,
    Variable = 2,
    Method = 4,
    ObjectType = 8,
    VariableType = 16,
    ReferenceType = 32,
    DataType = 64,
    View = 128,
}

/// <summary>A part of the address space; null: all of it (OPC 10000-4, 7.45).</summary>
public sealed record ViewDescription(NodeId ViewId, DateTime Timestamp, uint ViewVersion) : IStructure<ViewDescription>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(ViewId);
        writer.WriteDateTime(Timestamp);
        writer.WriteUInt32(ViewVersion);
    }

    public static ViewDescription Read(ref UaReader reader) => new(
        reader.ReadNodeId(),
        reader.ReadDateTime(),
        reader.ReadUInt32());
}

/// <summary>A node whose references are asked for (OPC 10000-4, 5.9.2).</summary>
/// <param name="NodeClassMask">0: all.</param>
/// <param name="ResultMask">Fields wanted; 63: all.</param>
public sealed record BrowseDescription(
    NodeId NodeId,
    BrowseDirection Direction,
    NodeId ReferenceTypeId,
    bool IncludeSubtypes,
    uint NodeClassMask,
    uint ResultMask)
    : IStructure<BrowseDescription>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(NodeId);
        writer.WriteInt32((int)Direction);
        writer.WriteNodeId(ReferenceTypeId);
        writer.WriteBoolean(IncludeSubtypes);
        writer.WriteUInt32(NodeClassMask);
        writer.WriteUInt32(ResultMask);
    }

    public static BrowseDescription Read(ref UaReader reader) => new(
        reader.ReadNodeId(),
        (BrowseDirection)reader.ReadInt32(),
        reader.ReadNodeId(),
        reader.ReadBoolean(),
        reader.ReadUInt32(),
        reader.ReadUInt32());
}

/// <summary>A reference and the node it leads to (OPC 10000-4, 7.30).</summary>
public sealed record ReferenceDescription(
    NodeId ReferenceTypeId,
    bool IsForward,
    ExpandedNodeId NodeId,
    QualifiedName BrowseName,
    LocalizedText DisplayName,
    NodeClass NodeClass,
    ExpandedNodeId TypeDefinition)
    : IStructure<ReferenceDescription>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(ReferenceTypeId);
        writer.WriteBoolean(IsForward);
        writer.WriteExpandedNodeId(NodeId);
        writer.WriteQualifiedName(BrowseName);
        writer.WriteLocalizedText(DisplayName);
        writer.WriteInt32((int)NodeClass);
        writer.WriteExpandedNodeId(TypeDefinition);
    }

    public static ReferenceDescription Read(ref UaReader reader) => new(
        reader.ReadNodeId(),
        reader.ReadBoolean(),
        reader.ReadExpandedNodeId(),
        reader.ReadQualifiedName(),
        reader.ReadLocalizedText(),
        (NodeClass)reader.ReadInt32(),
        reader.ReadExpandedNodeId());
}

/// <summary>References of one node (OPC 10000-4, 7.6).</summary>
/// <param name="ContinuationPoint">Null or empty: all references are here.</param>
public sealed record BrowseResult(
    StatusCode Status,
    byte[]? ContinuationPoint,
    IReadOnlyList<ReferenceDescription> References)
    : IStructure<BrowseResult>
{
    public void Write(UaWriter writer)
    {
        writer.WriteStatusCode(Status);
        writer.WriteByteString(ContinuationPoint);
        writer.WriteArray(References);
    }

    public static BrowseResult Read(ref UaReader reader) => new(
        reader.ReadStatusCode(),
        reader.ReadByteString(),
        reader.ReadArray<ReferenceDescription>());
}

/// <summary>Asks for references (OPC 10000-4, 5.9.2).</summary>
/// <param name="MaxReferencesPerNode">0: no limit of the client.</param>
public sealed record BrowseRequest(
    ViewDescription View,
    uint MaxReferencesPerNode,
    IReadOnlyList<BrowseDescription> Nodes)
    : IRequest<BrowseRequest, BrowseResponse>
{
    public static uint EncodingId => 527;

    public void Write(UaWriter writer)
    {
        View.Write(writer);
        writer.WriteUInt32(MaxReferencesPerNode);
        writer.WriteArray(Nodes);
    }

    public static BrowseRequest Read(ref UaReader reader) => new(
        ViewDescription.Read(ref reader),
        reader.ReadUInt32(),
        reader.ReadArray<BrowseDescription>());
}

/// <summary>Answer to <see cref="BrowseRequest"/>.</summary>
public sealed record BrowseResponse(IReadOnlyList<BrowseResult> Results) : IEncodable<BrowseResponse>
{
    public static uint EncodingId => 530;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results);
        writer.WriteInt32(0); // diagnostics
    }

    public static BrowseResponse Read(ref UaReader reader)
    {
        var message = new BrowseResponse(
            reader.ReadArray<BrowseResult>());
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>Asks for more references, or gives continuation points back (OPC 10000-4, 5.9.3).</summary>
public sealed record BrowseNextRequest(bool Release, IReadOnlyList<byte[]?> ContinuationPoints) : IRequest<BrowseNextRequest, BrowseNextResponse>
{
    public static uint EncodingId => 533;

    public void Write(UaWriter writer)
    {
        writer.WriteBoolean(Release);
        writer.WriteArray(ContinuationPoints, static (w, e) => w.WriteByteString(e));
    }

    public static BrowseNextRequest Read(ref UaReader reader) => new(
        reader.ReadBoolean(),
        reader.ReadArray(static (ref UaReader r) => r.ReadByteString()));
}

/// <summary>Answer to <see cref="BrowseNextRequest"/>.</summary>
public sealed record BrowseNextResponse(IReadOnlyList<BrowseResult> Results) : IEncodable<BrowseNextResponse>
{
    public static uint EncodingId => 536;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results);
        writer.WriteInt32(0); // diagnostics
    }

    public static BrowseNextResponse Read(ref UaReader reader)
    {
        var message = new BrowseNextResponse(
            reader.ReadArray<BrowseResult>());
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>A step of a path (OPC 10000-4, 7.31).</summary>
public sealed record RelativePathElement(
    NodeId ReferenceTypeId,
    bool IsInverse,
    bool IncludeSubtypes,
    QualifiedName TargetName)
    : IStructure<RelativePathElement>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(ReferenceTypeId);
        writer.WriteBoolean(IsInverse);
        writer.WriteBoolean(IncludeSubtypes);
        writer.WriteQualifiedName(TargetName);
    }

    public static RelativePathElement Read(ref UaReader reader) => new(
        reader.ReadNodeId(),
        reader.ReadBoolean(),
        reader.ReadBoolean(),
        reader.ReadQualifiedName());
}

/// <summary>A path by names (OPC 10000-4, 5.9.4).</summary>
public sealed record BrowsePath(NodeId StartingNode, IReadOnlyList<RelativePathElement> Elements) : IStructure<BrowsePath>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(StartingNode);
        writer.WriteArray(Elements);
    }

    public static BrowsePath Read(ref UaReader reader) => new(
        reader.ReadNodeId(),
        reader.ReadArray<RelativePathElement>());
}

/// <summary>Where a path leads (OPC 10000-4, 5.9.4).</summary>
/// <param name="RemainingPathIndex">4,294,967,295: the path was followed to its end.</param>
public sealed record BrowsePathTarget(ExpandedNodeId TargetId, uint RemainingPathIndex) : IStructure<BrowsePathTarget>
{
    public void Write(UaWriter writer)
    {
        writer.WriteExpandedNodeId(TargetId);
        writer.WriteUInt32(RemainingPathIndex);
    }

    public static BrowsePathTarget Read(ref UaReader reader) => new(
        reader.ReadExpandedNodeId(),
        reader.ReadUInt32());
}

/// <summary>Where a path leads (OPC 10000-4, 5.9.4).</summary>
public sealed record BrowsePathResult(StatusCode Status, IReadOnlyList<BrowsePathTarget> Targets) : IStructure<BrowsePathResult>
{
    public void Write(UaWriter writer)
    {
        writer.WriteStatusCode(Status);
        writer.WriteArray(Targets);
    }

    public static BrowsePathResult Read(ref UaReader reader) => new(
        reader.ReadStatusCode(),
        reader.ReadArray<BrowsePathTarget>());
}

/// <summary>Asks for the nodes at the ends of paths (OPC 10000-4, 5.9.4).</summary>
public sealed record TranslateBrowsePathsRequest(
    IReadOnlyList<BrowsePath> Paths)
    : IRequest<TranslateBrowsePathsRequest, TranslateBrowsePathsResponse>
{
    public static uint EncodingId => 554;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Paths);
    }

    public static TranslateBrowsePathsRequest Read(ref UaReader reader) => new(
        reader.ReadArray<BrowsePath>());
}

/// <summary>Answer to <see cref="TranslateBrowsePathsRequest"/>.</summary>
public sealed record TranslateBrowsePathsResponse(IReadOnlyList<BrowsePathResult> Results) : IEncodable<TranslateBrowsePathsResponse>
{
    public static uint EncodingId => 557;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results);
        writer.WriteInt32(0); // diagnostics
    }

    public static TranslateBrowsePathsResponse Read(ref UaReader reader)
    {
        var message = new TranslateBrowsePathsResponse(
            reader.ReadArray<BrowsePathResult>());
        reader.SkipDiagnostics();
        return message;
    }
}
