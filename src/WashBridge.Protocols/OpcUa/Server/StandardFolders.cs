namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>The folders that browsing begins at, and the types within them (OPC 10000-5, 8.2).</summary>
internal static class StandardFolders
{
    public static void AddTo(AddressSpace space)
    {
        var root = Folder(84, "Root", "The root of the address space.");
        space.AddNode(root).TypeDefinition = space.TypeOf(StandardIds.FolderType);
        root.References.Add(space.TypeOf(StandardIds.HasTypeDefinition), isForward: true, root.TypeDefinition!);
        Add(root, Folder(85, "Objects", "Where to look for objects."));
        var types = Add(root, Folder(86, "Types", "Where to look for types."));
        Add(root, Folder(87, "Views", "Where to look for views."));
        AddType(Add(types, Folder(88, "ObjectTypes", null)), StandardIds.BaseObjectType);
        AddType(Add(types, Folder(89, "VariableTypes", null)), new NodeId(62));
        AddType(Add(types, Folder(90, "DataTypes", null)), StandardIds.BaseDataType);
        AddType(Add(types, Folder(91, "ReferenceTypes", null)), new NodeId(31));

        UaObject Add(UaObject parent, UaObject folder) => space.Add(parent, space.TypeOf(StandardIds.Organizes), StandardIds.FolderType, folder);

        void AddType(UaObject folder, NodeId type) => AddressSpace.Connect(folder, space.TypeOf(StandardIds.Organizes), space.TypeOf(type));
    }

    private static UaObject Folder(uint id, string name, string? description) =>
        new(new NodeId(id), new QualifiedName(0, name), new LocalizedText(name), new LocalizedText(description));
}
