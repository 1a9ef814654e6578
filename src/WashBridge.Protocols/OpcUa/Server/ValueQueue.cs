namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// The values that a monitored item has to report (OPC 10000-4, 5.13.1.5): takes memory as it fills, and drops values when it is full.
/// </summary>
internal sealed class ValueQueue(int capacity, bool discardOldest)
{
    private DataValue[] ring = [];
    private int head;

    public int Count { get; private set; }

    public int Capacity => capacity;

    /// <summary>
    /// When full, the oldest value or else the newest is dropped, and the value next to the gap carries the overflow bit. A queue of one
    /// holds the latest value, and no bit: that is no overflow.
    /// </summary>
    public void Enqueue(in DataValue value)
    {
        if (capacity == 1)
        {
            Grow();
            ring[0] = value;
            (head, Count) = (0, 1);
        }
        else if (Count < capacity)
        {
            Grow();
            this[Count++] = value;
        }
        else if (discardOldest)
        {
            head = (head + 1) % ring.Length;
            this[Count - 1] = value;
            MarkOverflow(0);
        }
        else
        {
            this[Count - 1] = value;
            MarkOverflow(Count - 1);
        }
    }

    public DataValue Dequeue()
    {
        ref var first = ref this[0];
        var value = first;
        first = default;
        head = (head + 1) % ring.Length;
        Count--;
        return value;
    }

    public void Clear() => (ring, head, Count) = ([], 0, 0);

    /// <summary>The values as if they had come to a queue of that size.</summary>
    public ValueQueue Resized(int newCapacity, bool newDiscardOldest)
    {
        var resized = new ValueQueue(newCapacity, newDiscardOldest);
        while (Count > 0)
        {
            resized.Enqueue(Dequeue());
        }

        return resized;
    }

    private ref DataValue this[int index] => ref ring[(head + index) % ring.Length];

    private void MarkOverflow(int index)
    {
        ref var value = ref this[index];
        value = value with { Status = value.Status.WithOverflow() };
    }

    private void Grow()
    {
        if (Count < ring.Length || ring.Length == capacity)
        {
            return;
        }

        var larger = new DataValue[Math.Min(capacity, Math.Max(1, 2 * ring.Length))];
        for (var i = 0; i < Count; i++)
        {
            larger[i] = this[i];
        }

        (ring, head) = (larger, 0);
    }
}
