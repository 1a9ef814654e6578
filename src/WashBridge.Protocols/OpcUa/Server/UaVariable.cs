using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// A variable or property (OPC 10000-3, 5.6). <see cref="Set"/> may be called from any thread: it takes the variable's own lock for a copy of
/// the value, and hands the value to the items that watch it, if any. Nobody who holds that lock takes another but an item's.
/// </summary>
public sealed class UaVariable : UaNode
{
    private readonly Lock gate = new();
    private readonly TimeProvider time;
    private readonly Func<DataValue>? read;
    private INodeWatcher[] watchers = [];
    private DataValue current;

    internal UaVariable(NodeId id, QualifiedName browseName, VariableDefinition definition, TimeProvider time, Func<DataValue>? read = null)
        : base(id, browseName, new LocalizedText(definition.DisplayName ?? browseName.Name), new LocalizedText(definition.Description))
    {
        (Definition, this.time, this.read) = (definition, time, read);
        DataType = definition.DataType ?? new NodeId((uint)definition.Type);
        var now = time.GetUtcNow().UtcDateTime;
        current = definition.InitialValue.IsNull
            ? new DataValue(default, StatusCodes.BadWaitingForInitialData, now, now)
            : new DataValue(Checked(definition.InitialValue), default, now, now);
    }

    public override NodeClass NodeClass => NodeClass.Variable;

    public VariableDefinition Definition { get; }

    public NodeId DataType { get; }

    /// <summary>The value with the time of its source; the server's time is when it was set. Live values are read anew.</summary>
    public DataValue Current
    {
        get
        {
            if (read is not null)
            {
                return read();
            }

            lock (gate)
            {
                return current;
            }
        }
    }

    /// <summary>Computed at every read, and never set: items have to look at it again and again.</summary>
    internal bool IsLive => read is not null;

    /// <summary>Sets the value with its quality and time, and tells it to the items that watch this variable.</summary>
    /// <param name="value">Of the defined type, or null beside a status that is not good.</param>
    /// <param name="source">UTC, when the value came about at its source; null: now.</param>
    /// <param name="instant">Of the TimeProvider's monotonic clock, when the value was sampled; null: now. Values of one variable are set in the order of their instants.</param>
    /// <exception cref="ArgumentException">A value of another type or rank than defined.</exception>
    public void Set(Variant value, StatusCode status = default, DateTime? source = null, long? instant = null)
    {
        if (IsLive)
        {
            throw new InvalidOperationException($"{Id} computes its value itself");
        }

        Checked(value);
        var now = time.GetUtcNow().UtcDateTime;
        var next = new DataValue(value, status, source ?? now, now);
        lock (gate)
        {
            current = next;
            if (watchers.Length == 0)
            {
                return;
            }

            var at = instant ?? time.GetTimestamp();
            foreach (var watcher in watchers)
            {
                watcher.Offer(next, at);
            }
        }
    }

    /// <summary>Adds a watcher, which is offered the present value at once, so that it misses and repeats none.</summary>
    internal void Watch(INodeWatcher watcher)
    {
        lock (gate)
        {
            watchers = [.. watchers, watcher];
            watcher.Offer(Current, time.GetTimestamp());
        }
    }

    internal void Unwatch(INodeWatcher watcher)
    {
        lock (gate)
        {
            watchers = Array.FindAll(watchers, other => other != watcher);
        }
    }

    /// <summary>The node is removed: takes all watchers away and returns them.</summary>
    internal IReadOnlyList<INodeWatcher> TakeWatchers()
    {
        lock (gate)
        {
            var taken = watchers;
            watchers = [];
            return taken;
        }
    }

    private Variant Checked(Variant value)
    {
        if (!value.IsNull && value.Type != Definition.Type)
        {
            throw new ArgumentException($"a value of type {value.Type} for {Id}; allowed: {Definition.Type}", nameof(value));
        }

        var rank = !value.IsArray ? -1 : value.Dimensions?.Count ?? 1;
        return value.IsNull || Definition.ValueRank switch
        {
            -3 => rank is -1 or 1,
            -2 => true,
            0 => rank >= 1,
            var defined => rank == defined,
        }
            ? value
            : throw new ArgumentException($"a value of rank {rank} for {Id}; allowed: {Definition.ValueRank}", nameof(value));
    }
}

/// <summary>Wants to know what a variable is set to, and that it is gone.</summary>
internal interface INodeWatcher
{
    /// <summary>Called under the variable's lock, in the order of the values. Must be quick, and take no lock but its own.</summary>
    /// <param name="instant">Of the TimeProvider's monotonic clock.</param>
    void Offer(in DataValue value, long instant);
}
