using WashBridge.Core.Cycles;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Reporting;

namespace WashBridge.Publishing;

/// <summary>The cycle that runs, as nodes. Between cycles the last one's values stay, with Running false.</summary>
internal sealed class PublishedCycle
{
    private readonly UaVariable _running;
    private readonly UaVariable _paused;
    private readonly UaVariable _id;
    private readonly UaVariable _startedAt;
    private readonly UaVariable _endedAt;
    private readonly UaVariable _outcome;
    private readonly UaVariable _phase;
    private readonly UaVariable _pass;
    private readonly UaVariable _step;

    public PublishedCycle(NodeMaker nodes, UaObject washer)
    {
        var cycle = nodes.Object(washer, "Cycle", "Cycle");
        UaVariable Add(string name, Variant initial, string description) =>
            nodes.Variable(cycle, $"Cycle/{name}", name, new VariableDefinition(initial.Type) { InitialValue = initial, Description = description });
        _running = Add("Running", false, "A cycle runs.");
        _paused = Add("Paused", false, "The cycle is held by a person or an interlock.");
        _id = Add("Id", "", "The id under which the cycle is kept.");
        _startedAt = Add("StartedAt", DateTime.UnixEpoch, "The latest moment at which it can have started, UTC.");
        _endedAt = Add("EndedAt", DateTime.UnixEpoch, "The latest moment at which it can have ended, UTC; of an earlier cycle while one runs.");
        _outcome = Add("Outcome", "", "How the last cycle ended: completed, aborted, or its end was not seen.");
        _phase = Add("Phase", "", "The phase, as the washer's configuration calls it.");
        _pass = Add("Pass", 0u, "Which repeat of the phase, from 1.");
        _step = Add("Step", "", "The step within the phase.");
    }

    public void Take(WashEvent washEvent)
    {
        var at = PublishedWasher.Utc(washEvent.At.Latest);
        switch (washEvent)
        {
            case CycleStarted started:
                _id.Set(started.CycleId, source: at);
                _startedAt.Set(PublishedWasher.Utc(started.Edge.Latest.Wall), source: at);
                Show(at, "", 0, "");
                _paused.Set(false, source: at);
                _running.Set(true, source: at);
                break;
            case StepStarted step:
                Show(at, step.Phase, (uint)step.Pass, Words.Of(step.Step));
                break;
            case CyclePaused:
                _paused.Set(true, source: at);
                break;
            case CycleResumed:
                _paused.Set(false, source: at);
                break;
            case CycleEnded ended:
                _endedAt.Set(PublishedWasher.Utc(ended.Cycle.End.Latest.Wall), source: at);
                _outcome.Set(Words.Of(ended.Cycle.Outcome), source: at);
                _paused.Set(false, source: at);
                _running.Set(false, source: at);
                break;
            default:
                break;
        }
    }

    private void Show(DateTime at, string phase, uint pass, string step)
    {
        _phase.Set(phase, source: at);
        _pass.Set(pass, source: at);
        _step.Set(step, source: at);
    }
}
