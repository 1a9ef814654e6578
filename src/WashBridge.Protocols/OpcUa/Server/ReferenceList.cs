namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>A reference as one of its two ends sees it (OPC 10000-3, 5.3.1).</summary>
/// <param name="Sequence">Grows within a node's list, so that a browse can go on behind it although others were removed.</param>
internal readonly record struct Reference(UaType Type, bool IsForward, UaNode Target, int Sequence);

/// <summary>The references of one node. Not thread safe: the address space's lock guards it.</summary>
internal sealed class ReferenceList
{
    private readonly List<Reference> references = [];
    private int nextSequence;

    public int Count => references.Count;

    public Reference this[int index] => references[index];

    public void Add(UaType type, bool isForward, UaNode target) => references.Add(new Reference(type, isForward, target, nextSequence++));

    /// <summary>Removes every reference that leads to <paramref name="target"/>.</summary>
    public void RemoveTo(UaNode target) => references.RemoveAll(reference => reference.Target == target);

    /// <summary>The index of the first reference with at least this sequence number.</summary>
    public int IndexOf(int sequence)
    {
        var (low, high) = (0, references.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            (low, high) = references[middle].Sequence < sequence ? (middle + 1, high) : (low, middle);
        }

        return low;
    }
}
