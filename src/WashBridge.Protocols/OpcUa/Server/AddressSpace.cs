using System.Collections.Concurrent;
using System.Diagnostics.CodeAnalysis;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// The nodes of a server: namespace 0 as far as clients need it (OPC 10000-5), and our own. All members may be called from any thread; one
/// lock guards nodes and references, while values have their own (see <see cref="UaVariable"/>). Order of locks: this one, then a variable's.
/// </summary>
public sealed partial class AddressSpace
{
    /// <summary>The namespace of the server's own application URI (OPC 10000-3, 8.2.2).</summary>
    public const ushort ApplicationNamespace = 1;

    private readonly Lock gate = new();
    private readonly ConcurrentDictionary<NodeId, UaNode> nodes = [];
    private readonly TimeProvider time;
    private readonly UaType organizes;
    private readonly UaType hasComponent;
    private readonly UaType hasProperty;
    private readonly UaType hasTypeDefinition;
    private readonly UaType hierarchical;
    private string?[] namespaces = [StandardIds.NamespaceUri, null];

    public AddressSpace(TimeProvider? time = null)
    {
        this.time = time ?? TimeProvider.System;
        StandardTypes.AddTo(this);
        organizes = TypeOf(StandardIds.Organizes);
        hasComponent = TypeOf(StandardIds.HasComponent);
        hasProperty = TypeOf(StandardIds.HasProperty);
        hasTypeDefinition = TypeOf(StandardIds.HasTypeDefinition);
        hierarchical = TypeOf(StandardIds.HierarchicalReferences);
        StandardFolders.AddTo(this);
        Objects = (UaObject)nodes[StandardIds.ObjectsFolder];
    }

    /// <summary>
    /// Called before values are read or reported, from any thread and under locks of the server's: whoever sets values only now and then brings them up to date
    /// here. It may set variables, and must take no lock that is held while variables are removed.
    /// </summary>
    public Action? Refreshing { get; set; }

    /// <summary>The folder that clients look for objects in (OPC 10000-5, 8.2.4).</summary>
    public UaObject Objects { get; }

    /// <summary>URIs by index. That of index 1 is told by the server.</summary>
    public IReadOnlyList<string?> Namespaces => Volatile.Read(ref namespaces);

    /// <summary>All nodes, those of namespace 0 included.</summary>
    public int Count => nodes.Count;

    internal TimeProvider Time => time;

    /// <summary>The index of a namespace, which is added where it is not known.</summary>
    public ushort AddNamespace(string uri)
    {
        ArgumentException.ThrowIfNullOrEmpty(uri);
        lock (gate)
        {
            var known = Array.IndexOf(namespaces, uri);
            if (known >= 0)
            {
                return (ushort)known;
            }

            if (namespaces.Length == ushort.MaxValue)
            {
                throw new InvalidOperationException($"more than {ushort.MaxValue} namespaces");
            }

            Volatile.Write(ref namespaces, [.. namespaces, uri]);
            return (ushort)(namespaces.Length - 1);
        }
    }

    public UaNode? Find(NodeId id) => nodes.GetValueOrDefault(id);

    /// <summary>A folder below a parent, which organises it. The browse name is in the namespace of <paramref name="id"/>.</summary>
    /// <exception cref="ArgumentException">The id is taken, null, or of an unknown namespace or the standard's; or the parent is not of this address space.</exception>
    public UaObject AddFolder(UaNode parent, NodeId id, string name, string? displayName = null, string? description = null) =>
        Add(parent, organizes, StandardIds.FolderType, new UaObject(id, NameOf(id, name), new LocalizedText(displayName ?? name), new LocalizedText(description)));

    /// <summary>An object below a parent: a component of another object, organised by a folder.</summary>
    /// <inheritdoc cref="AddFolder"/>
    public UaObject AddObject(UaNode parent, NodeId id, string name, string? displayName = null, string? description = null) =>
        Add(parent, ReferenceFrom(parent), StandardIds.BaseObjectType, new UaObject(id, NameOf(id, name), new LocalizedText(displayName ?? name), new LocalizedText(description)));

    /// <summary>
    /// A variable below a parent: a component of an object, organised by a folder. Its properties get ids of their own in the same
    /// namespace: that of the variable, a full stop and the property's name, such as <c>s=Bath1.Temperature.EURange</c>.
    /// </summary>
    /// <inheritdoc cref="AddFolder"/>
    public UaVariable AddVariable(UaNode parent, NodeId id, string name, VariableDefinition definition)
    {
        ArgumentNullException.ThrowIfNull(definition);
        definition.Validate();
        lock (gate)
        {
            var variable = Add(parent, ReferenceFrom(parent), TypeFor(definition), new UaVariable(id, NameOf(id, name), definition, time));
            AddProperties(variable, definition);
            return variable;
        }
    }

    /// <summary>A property: a value that describes its owner (OPC 10000-3, 4.5.2).</summary>
    /// <inheritdoc cref="AddFolder"/>
    public UaVariable AddProperty(UaNode owner, NodeId id, string name, Variant value, NodeId? dataType = null) => AddProperty(owner, id, NameOf(id, name), value, dataType);

    internal bool TryFind(NodeId id, [NotNullWhen(true)] out UaNode? node) => nodes.TryGetValue(id, out node);

    internal UaType TypeOf(NodeId id) => (UaType)nodes[id];

    internal void SetApplicationUri(string uri)
    {
        lock (gate)
        {
            Volatile.Write(ref namespaces, [namespaces[0], uri, .. namespaces[2..]]);
        }
    }

    /// <summary>Adds a node that is not yet tied to any other.</summary>
    internal T AddNode<T>(T node)
        where T : UaNode
    {
        if (node.Id.IsNull || node.Id.Namespace >= namespaces.Length)
        {
            throw new ArgumentException($"node id {node.Id}; allowed: not null, namespace 0 to {namespaces.Length - 1}");
        }

        if (!nodes.TryAdd(node.Id, node))
        {
            throw new ArgumentException($"node id {node.Id} is taken by {nodes[node.Id]}");
        }

        return node;
    }

    internal static void Connect(UaNode source, UaType type, UaNode target)
    {
        source.References.Add(type, isForward: true, target);
        target.References.Add(type, isForward: false, source);
    }

    /// <summary>Adds an instance below its parent.</summary>
    internal T Add<T>(UaNode parent, UaType reference, NodeId typeDefinition, T node)
        where T : UaNode
    {
        ArgumentNullException.ThrowIfNull(parent);
        lock (gate)
        {
            if (Find(parent.Id) != parent)
            {
                throw new ArgumentException($"the parent {parent} is not in this address space");
            }

            AddNode(node);

            // Types know nothing of their instances: there may be very many, and no client asks.
            node.TypeDefinition = TypeOf(typeDefinition);
            node.References.Add(hasTypeDefinition, isForward: true, node.TypeDefinition);
            Connect(parent, reference, node);
            Revive(node);
            return node;
        }
    }

    internal UaVariable AddProperty(UaNode owner, NodeId id, QualifiedName name, Variant value, NodeId? dataType = null) =>
        Add(owner, hasProperty, StandardIds.PropertyType, new UaVariable(
            id,
            name,
            new VariableDefinition(value.Type) { DataType = dataType, ValueRank = value.IsArray ? 1 : -1, InitialValue = value },
            time));

    private static QualifiedName NameOf(NodeId id, string name)
    {
        ArgumentException.ThrowIfNullOrEmpty(name);
        return id.Namespace > 0
            ? new QualifiedName(id.Namespace, name)
            : throw new ArgumentException($"node id {id} for \"{name}\"; namespace 0 is the standard's, take one of {nameof(AddNamespace)}");
    }

    private static NodeId TypeFor(VariableDefinition definition) => definition switch
    {
        { Range: not null } => StandardIds.AnalogItemType,
        { Unit: not null } => StandardIds.AnalogUnitType,
        { States: not null, Type: BuiltInType.Boolean } => StandardIds.TwoStateDiscreteType,
        { States: not null } => StandardIds.MultiStateDiscreteType,
        _ => StandardIds.BaseDataVariableType,
    };

    private UaType ReferenceFrom(UaNode parent) => parent?.TypeDefinition?.Id == StandardIds.FolderType ? organizes : hasComponent;

    private void AddProperties(UaVariable variable, VariableDefinition definition)
    {
        if (definition.Range is { } range)
        {
            AddStandardProperty(variable, "EURange", ExtensionObject.Of(range), StandardIds.Range);
        }

        if (definition.Unit is { } unit)
        {
            AddStandardProperty(variable, "EngineeringUnits", ExtensionObject.Of(unit), StandardIds.EUInformation);
        }

        if (definition is { States: { } two, Type: BuiltInType.Boolean })
        {
            AddStandardProperty(variable, "FalseState", new LocalizedText(two[0]));
            AddStandardProperty(variable, "TrueState", new LocalizedText(two[1]));
        }
        else if (definition.States is { } states)
        {
            AddStandardProperty(variable, "EnumStrings", Variant.ArrayOf(states.Select(static state => new LocalizedText(state)).ToArray()));
        }
    }

    private void AddStandardProperty(UaVariable owner, string name, Variant value, NodeId? dataType = null) =>
        AddProperty(owner, new NodeId(owner.Id.Namespace, $"{owner.Id.Text ?? owner.Id.Identifier}.{name}"), new QualifiedName(0, name), value, dataType);
}
