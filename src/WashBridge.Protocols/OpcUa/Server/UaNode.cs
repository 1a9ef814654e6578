using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// A node of the address space (OPC 10000-3, 5). Its names never change; its references change under the address space's lock.
/// </summary>
public abstract class UaNode
{
    private protected UaNode(NodeId id, QualifiedName browseName, LocalizedText displayName, LocalizedText description) =>
        (Id, BrowseName, DisplayName, Description) = (id, browseName, displayName, description);

    public NodeId Id { get; }

    public QualifiedName BrowseName { get; }

    public LocalizedText DisplayName { get; }

    /// <summary>Text null: none.</summary>
    public LocalizedText Description { get; }

    public abstract NodeClass NodeClass { get; }

    /// <summary>Both directions, in the order in which they were added. Read and changed under the address space's lock only.</summary>
    internal ReferenceList References { get; } = new();

    /// <summary>Null for what is no instance of a type.</summary>
    internal UaNode? TypeDefinition { get; set; }

    public override string ToString() => $"{NodeClass} {Id} ({BrowseName})";
}

/// <summary>An object or a folder (OPC 10000-3, 5.5).</summary>
public sealed class UaObject : UaNode
{
    internal UaObject(NodeId id, QualifiedName browseName, LocalizedText displayName, LocalizedText description)
        : base(id, browseName, displayName, description)
    {
    }

    public override NodeClass NodeClass => NodeClass.Object;
}

/// <summary>A type of objects, variables, data or references (OPC 10000-3, 5.3, 5.5.2, 5.6.5, 5.8.3).</summary>
internal sealed class UaType(NodeId id, string name, NodeClass nodeClass, bool isAbstract, UaType? superType)
    : UaNode(id, new QualifiedName(0, name), new LocalizedText(name), default)
{
    public override NodeClass NodeClass => nodeClass;

    public bool IsAbstract => isAbstract;

    public UaType? SuperType => superType;

    /// <summary>Of a reference type; Text null: symmetric, or none needed.</summary>
    public LocalizedText InverseName { get; init; }

    public bool IsSymmetric { get; init; }

    /// <summary>Of a variable type.</summary>
    public NodeId DataType { get; init; } = StandardIds.BaseDataType;

    /// <summary>Of a variable type; -2: any.</summary>
    public int ValueRank { get; init; } = -2;

    public bool IsOrDerivesFrom(UaType other)
    {
        for (var type = this; type is not null; type = type.SuperType)
        {
            if (type == other)
            {
                return true;
            }
        }

        return false;
    }
}
