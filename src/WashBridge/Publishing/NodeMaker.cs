using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Publishing;

/// <summary>Makes the nodes of one washer: each id is the washer's and the path below it, such as <c>s=north/Cycle/Phase</c>.</summary>
internal sealed class NodeMaker(AddressSpace space, ushort ns, string washer)
{
    public UaObject Folder(UaNode parent, string path) => space.AddFolder(parent, Id(path), path[(path.LastIndexOf('/') + 1)..]);

    public UaObject Object(UaNode parent, string path, string name, string? title = null) => space.AddObject(parent, Id(path), name, title);

    public UaVariable Variable(UaNode parent, string path, string name, VariableDefinition definition) => space.AddVariable(parent, Id(path), name, definition);

    private NodeId Id(string path) => new(ns, path.Length == 0 ? washer : $"{washer}/{path}");
}
