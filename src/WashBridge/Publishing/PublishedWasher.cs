using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using StatusCodes = WashBridge.Protocols.OpcUa.StatusCodes;

namespace WashBridge.Publishing;

/// <summary>One washer as nodes: its signals, its current cycle, and each station's last verdict. See ADDRESS-SPACE.md.</summary>
internal sealed class PublishedWasher
{
    private static readonly StatusCode Uncertain = new(0x4000_0000);
    private static readonly StatusCode Bad = new(0x8000_0000);

    private readonly WasherConfiguration _configuration;
    private readonly Dictionary<(int Station, string Name), UaVariable> _signals = [];
    private readonly Dictionary<int, PublishedStation> _stations = [];
    private readonly PublishedCycle _cycle;
    private readonly UaVariable _connectionLost;
    private readonly UaVariable _connectionLostReason;
    private readonly UaVariable _controllerFault;
    private readonly PublishedAlarms _alarms;
    private readonly HashSet<int> _lostGroups = [];

    public PublishedWasher(AddressSpace space, UaObject folder, ushort ns, WasherConfiguration configuration)
    {
        _configuration = configuration;
        var id = configuration.Model.Washer;
        var nodes = new NodeMaker(space, ns, id);
        var washer = nodes.Object(folder, "", id, configuration.Title.Length > 0 ? configuration.Title : id);
        _cycle = new PublishedCycle(nodes, washer);
        AddSignals(nodes, washer, station: 0, "Signals");
        var stations = nodes.Folder(washer, "Stations");
        for (var station = 1; station <= configuration.Model.Stations; station++)
        {
            var node = nodes.Object(stations, $"Stations/{station}", $"{station}", $"Station {station}");
            _stations[station] = new PublishedStation(nodes, node, station);
            AddSignals(nodes, node, station, $"Stations/{station}/Signals");
        }

        var alarms = nodes.Folder(washer, "Alarms");
        _connectionLost = nodes.Variable(alarms, "Alarms/ConnectionLost", "ConnectionLost", new VariableDefinition(BuiltInType.Boolean) { InitialValue = false, Description = "The washer, or some of its signals, cannot be read." });
        _connectionLostReason = nodes.Variable(alarms, "Alarms/ConnectionLostReason", "ConnectionLostReason", new VariableDefinition(BuiltInType.String) { InitialValue = "" });
        _controllerFault = nodes.Variable(alarms, "Alarms/ControllerFault", "ControllerFault", new VariableDefinition(BuiltInType.Boolean) { InitialValue = false, Description = "The controller stopped the programme with a fault." });
        _alarms = new PublishedAlarms(nodes, alarms);
    }

    public void Take(Frame frame)
    {
        if (frame.Kind == FrameKind.Failed)
        {
            foreach (var tag in _configuration.Tags.Where(t => t.Group == frame.Group))
            {
                _signals[(tag.Signal.Station, tag.Signal.Name)].Set(Variant.Null, StatusCodes.BadNoCommunication, Utc(frame.Read.Latest));
            }

            return;
        }

        foreach (var sample in frame.Samples)
        {
            if (_signals.TryGetValue((sample.Signal.Station, sample.Signal.Name), out var variable))
            {
                Set(variable, sample);
            }

            if (sample.Signal.Name == "sequence.fault" && sample.Quality == Quality.Good)
            {
                _controllerFault.Set(sample.Value.IsSet, source: Utc(sample.At.Latest));
            }
        }
    }

    public void Take(WashEvent washEvent)
    {
        switch (washEvent)
        {
            case SourceLost lost:
                _lostGroups.Add(lost.Group);
                _connectionLostReason.Set(lost.Reason, source: Utc(lost.At.Latest));
                _connectionLost.Set(true, source: Utc(lost.At.Latest));
                break;
            case SourceRestored restored:
                _lostGroups.Remove(restored.Group);
                _connectionLost.Set(_lostGroups.Count > 0, source: Utc(restored.At.Latest));
                break;
            case AlarmChanged changed:
                _alarms.Take(changed);
                break;
            case KegJudged judged when _stations.TryGetValue(judged.Verdict.Station, out var station):
                station.Take(judged);
                break;
            default:
                _cycle.Take(washEvent);
                break;
        }
    }

    internal static DateTime Utc(Instant instant) => instant.ToDateTimeOffset().UtcDateTime;

    private void AddSignals(NodeMaker nodes, UaObject parent, int station, string path)
    {
        var folder = nodes.Folder(parent, path);
        foreach (var tag in _configuration.Tags.Where(t => t.Signal.Station == station))
        {
            var name = tag.Signal.Name;
            _signals[(station, name)] = nodes.Variable(folder, $"{path}/{name}", name, Definition(tag));
        }
    }

    private static VariableDefinition Definition(Tag tag) => tag.Signal.Type switch
    {
        SignalType.Flag => new VariableDefinition(BuiltInType.Boolean),
        SignalType.Integer => new VariableDefinition(BuiltInType.Int64),
        SignalType.Text => new VariableDefinition(BuiltInType.String),
        _ => new VariableDefinition(BuiltInType.Double)
        {
            Unit = Units.FromUcum(tag.Signal.Unit.Replace("(a)", "", StringComparison.Ordinal)),
            Range = tag is { Minimum: { } low, Maximum: { } high } && low < high ? new EURange(low, high) : null,
        },
    }
    with
    { Description = SignalCatalogue.Find(tag.Signal.Name)?.Meaning };

    private static void Set(UaVariable variable, Sample sample)
    {
        var source = Utc(sample.At.Latest);
        if (sample.Quality == Quality.Bad)
        {
            variable.Set(Variant.Null, Bad, source);
            return;
        }

        Variant value = sample.Signal.Type switch
        {
            SignalType.Flag => sample.Value.IsSet,
            SignalType.Integer => (long)sample.Value.Number,
            SignalType.Text => sample.Value.Text,
            _ => sample.Value.Number,
        };
        variable.Set(value, sample.Quality == Quality.Uncertain ? Uncertain : StatusCodes.Good, source);
    }
}
