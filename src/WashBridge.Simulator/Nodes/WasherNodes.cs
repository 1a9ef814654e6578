using WashBridge.Core.Signals;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Simulator.Nodes;

/// <summary>
/// A simulated washer's signals as variables. States are told at the scan in which they change, with its time; measurements, which
/// change at every scan, as they are when the washer has been brought to the present.
/// </summary>
internal sealed class WasherNodes
{
    private readonly SimulatedWasher _washer;
    private readonly DateTimeOffset _start;
    private readonly long _startStamp;
    private readonly TimeProvider _time;
    private readonly UaVariable[] _variables;
    private readonly SignalValue[] _told;
    private readonly Dictionary<string, UaObject> _objects = [];

    /// <param name="start">The wall clock at the washer's time zero.</param>
    /// <param name="startStamp">The monotonic clock then.</param>
    public WasherNodes(SimulatedWasher washer, DateTimeOffset start, long startStamp, TimeProvider time)
    {
        (_washer, _start, _startStamp, _time) = (washer, start, startStamp, time);
        Space = new AddressSpace(time);
        var ns = Space.AddNamespace(NodeNames.NamespaceUri);
        var root = Space.AddObject(Space.Objects, new NodeId(ns, "Washer"), "Washer", washer.Options.Title);
        _variables = [.. washer.Map.Select(m => Add(m.Signal, root, ns))];
        _told = [.. _variables.Select(_ => new SignalValue(double.NegativeInfinity))]; // like no value, so that each is told at first
        washer.Scanned += now => Tell(now, measurements: false);
    }

    public AddressSpace Space { get; }

    /// <summary>Tells what the present is, measurements included.</summary>
    public void Refresh()
    {
        lock (_washer.Gate)
        {
            Tell(_washer.Now, measurements: true);
        }
    }

    /// <summary>However late a scan is caught up with, its values are told as of its time.</summary>
    private void Tell(TimeSpan now, bool measurements)
    {
        var instant = _startStamp + (long)(now.TotalSeconds * _time.TimestampFrequency);
        for (var i = 0; i < _variables.Length; i++)
        {
            if (_washer.Map[i].Signal.Type == SignalType.Quantity && !measurements)
            {
                continue;
            }

            var value = _washer.Read(i);
            if (value != _told[i])
            {
                _told[i] = value;
                _variables[i].Set(Encoded(_washer.Map[i].Signal, value), source: (_start + now).UtcDateTime, instant: instant);
            }
        }
    }

    private UaVariable Add(Signal signal, UaObject root, ushort ns)
    {
        var path = NodeNames.PathOf(signal);
        var parent = root;
        for (var i = 1; i < path.Count; i++)
        {
            var id = string.Join('.', path.Take(i));
            if (!_objects.TryGetValue(id, out var next))
            {
                _objects[id] = next = Space.AddObject(parent, new NodeId(ns, id), path[i - 1]);
            }

            parent = next;
        }

        return Space.AddVariable(parent, new NodeId(ns, NodeNames.IdOf(signal)), path[^1], Definition(signal));
    }

    private static VariableDefinition Definition(Signal signal) => signal.Type switch
    {
        SignalType.Flag => new VariableDefinition(BuiltInType.Boolean),
        SignalType.Integer => new VariableDefinition(BuiltInType.UInt32),
        SignalType.Text => new VariableDefinition(BuiltInType.String),
        _ => new VariableDefinition(BuiltInType.Float) { Unit = Units.FromUcum(signal.Unit.Replace("(a)", "", StringComparison.Ordinal)), Range = RangeOf(signal.Unit) },
    };

    private static Variant Encoded(Signal signal, SignalValue value) => signal.Type switch
    {
        SignalType.Flag => value.IsSet,
        SignalType.Integer => (uint)value.Number,
        SignalType.Text => value.Text,
        _ => (float)value.Number,
    };

    /// <summary>What the simulated instruments are made for; invented.</summary>
    private static EURange? RangeOf(string unit) => unit switch
    {
        "Cel" => new EURange(0, 150),
        "bar(a)" => new EURange(0, 10),
        "%" => new EURange(0, 100),
        "s" => new EURange(0, 600),
        "L/min" => new EURange(0, 200),
        "mS/cm" => new EURange(0, 200),
        "A" => new EURange(0, 25),
        _ => null,
    };
}
