namespace WashBridge.Configuration.Yaml;

/// <summary>Where a node stands.</summary>
/// <param name="File">The file, as the person named it.</param>
/// <param name="Line">From 1.</param>
/// <param name="Column">From 1.</param>
/// <param name="Field">The path of keys and positions, such as <c>tags[3].address</c>; empty for the whole file.</param>
internal sealed record Place(string File, int Line, int Column, string Field);

/// <summary>A piece of YAML that knows where it stands.</summary>
internal abstract record YamlNode(Place Place)
{
    /// <summary>What to call it in a message.</summary>
    public abstract string Description { get; }
}

/// <summary>How the YAML 1.2 core schema (10.3) takes a scalar: the same as JSON Schema sees it in an editor.</summary>
internal enum ScalarKind
{
    Null = 0,
    Boolean = 1,
    Integer = 2,
    Number = 3,
    Text = 4,
}

internal sealed record YamlScalar(Place Place, string Text, ScalarKind Kind) : YamlNode(Place)
{
    public override string Description => Kind switch
    {
        ScalarKind.Null => "nothing",
        ScalarKind.Text => $"\"{Text}\"",
        _ => Text,
    };
}

/// <summary>A key with its value. Keys of a mapping are unique: repeated ones were reported and left out.</summary>
internal sealed record YamlEntry(YamlScalar Key, YamlNode Value);

internal sealed record YamlMapping(Place Place, IReadOnlyList<YamlEntry> Entries) : YamlNode(Place)
{
    public override string Description => "a mapping";

    public YamlEntry? Find(string key) => Entries.FirstOrDefault(e => e.Key.Text == key);
}

internal sealed record YamlList(Place Place, IReadOnlyList<YamlNode> Items) : YamlNode(Place)
{
    public override string Description => "a list";
}
