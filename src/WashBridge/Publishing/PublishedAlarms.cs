using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Publishing;

/// <summary>The alarms of a washer as nodes: counts for whoever alerts, texts for whoever reads.</summary>
internal sealed class PublishedAlarms
{
    private static readonly string[] Priorities = ["none", "low", "medium", "high"];

    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    private readonly AlarmBoard _board = new();
    private readonly UaVariable _standing;
    private readonly Dictionary<AlarmPriority, UaVariable> _byPriority;
    private readonly UaVariable _unacknowledged;
    private readonly UaVariable _highest;
    private readonly UaVariable _texts;
    private readonly UaVariable _list;

    public PublishedAlarms(NodeMaker nodes, UaNode folder)
    {
        UaVariable Count(string name, string description) => nodes.Variable(folder, $"Alarms/{name}", name, new VariableDefinition(BuiltInType.UInt32) { InitialValue = 0u, Description = description });
        _standing = Count("Standing", "Alarms whose condition holds and that nobody has put aside.");
        _byPriority = new()
        {
            [AlarmPriority.High] = Count("StandingHigh", "Those of high priority."),
            [AlarmPriority.Medium] = Count("StandingMedium", "Those of medium priority."),
            [AlarmPriority.Low] = Count("StandingLow", "Those of low priority."),
        };
        _unacknowledged = Count("Unacknowledged", "Alarms that nobody has acknowledged, those that are over among them.");
        _highest = nodes.Variable(folder, "Alarms/HighestPriority", "HighestPriority", new VariableDefinition(BuiltInType.UInt32) { InitialValue = 0u, States = Priorities, Description = "The highest priority of those standing." });
        _texts = nodes.Variable(folder, "Alarms/Texts", "Texts", new VariableDefinition(BuiltInType.String) { InitialValue = "", Description = "A line for each standing alarm, the most urgent first." });
        _list = nodes.Variable(folder, "Alarms/List", "List", new VariableDefinition(BuiltInType.String) { InitialValue = "[]", Description = "All that is standing, unacknowledged or put aside, as JSON." });
    }

    /// <summary>The list comes last: whoever waits for it finds the rest in place.</summary>
    public void Take(AlarmChanged changed)
    {
        _board.Take(changed);
        var at = PublishedWasher.Utc(changed.At.Latest);
        var open = _board.Open.ToList();
        var standing = open.Where(a => AlarmLifeCycle.Stands(a.To)).ToList();
        foreach (var (priority, variable) in _byPriority)
        {
            variable.Set((uint)standing.Count(a => a.Priority == priority), source: at);
        }

        _unacknowledged.Set((uint)open.Count(a => a.To != AlarmState.Acknowledged), source: at);
        _highest.Set(standing.Count == 0 ? 0u : 1u + (uint)standing.Max(a => a.Priority), source: at);
        _standing.Set((uint)standing.Count, source: at);
        _texts.Set(string.Join('\n', standing.Select(a => a.Text.What)), source: at);
        _list.Set(Json(_board), source: at);
    }

    /// <summary>All that is standing, unacknowledged or put aside.</summary>
    internal static string Json(AlarmBoard board) => JsonSerializer.Serialize(board.Open.Concat(board.Aside).Select(Entry), Options);

    private static object Entry(AlarmChanged alarm) => new
    {
        alarm.Alarm,
        State = Forwarding.Words.Of(alarm.To),
        Priority = Forwarding.Words.Of(alarm.Priority),
        Since = alarm.Since?.ToString(),
        alarm.Text.What,
        alarm.Text.Kegs,
        alarm.Text.LookAt,
        alarm.Text.Caution,
        alarm.By,
        alarm.Reason,
        Until = alarm.Until?.ToString(),
    };
}
