namespace WashBridge.Protocols.OpcUa;

/// <summary>A name qualified by a namespace (OPC 10000-3, 8.3), written <c>2:Temperature</c>; namespace 0 is left away.</summary>
public readonly record struct QualifiedName(ushort Namespace, string? Name)
{
    public override string ToString() => Namespace == 0 ? Name ?? "" : $"{Namespace}:{Name}";
}

/// <summary>A text with its locale, such as <c>en</c> (OPC 10000-3, 8.5).</summary>
public readonly record struct LocalizedText(string? Locale, string? Text)
{
    public LocalizedText(string? text)
        : this(null, text)
    {
    }

    public override string ToString() => Text ?? "";
}

/// <summary>An XML fragment, kept as text (OPC 10000-6, 5.2.2.8).</summary>
public readonly record struct XmlElement(string? Xml)
{
    public override string ToString() => Xml ?? "";
}
