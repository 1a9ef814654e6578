using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Publishing;

/// <summary>A station's last verdict as nodes. It is evidence for a person's release decision, not the decision.</summary>
internal sealed class PublishedStation
{
    private static readonly string[] States = ["not judged yet", "met", "not met", "not proven"];

    private readonly UaVariable _verdict;
    private readonly UaVariable _reasons;
    private readonly UaVariable _kegId;
    private readonly UaVariable _cycleId;
    private readonly UaVariable _recipe;

    public PublishedStation(NodeMaker nodes, UaObject station, int number)
    {
        var path = $"Stations/{number}/LastKeg";
        var keg = nodes.Object(station, path, "LastKeg");
        _verdict = nodes.Variable(keg, $"{path}/Verdict", "Verdict", new VariableDefinition(BuiltInType.UInt32) { InitialValue = 0u, States = States, Description = "Whether the last keg had all that its recipe asks." });
        UaVariable Add(string name, string description) => nodes.Variable(keg, $"{path}/{name}", name, new VariableDefinition(BuiltInType.String) { InitialValue = "", Description = description });
        _reasons = Add("Reasons", "One sentence for each requirement that was not met or not proven.");
        _kegId = Add("KegId", "The keg.");
        _cycleId = Add("CycleId", "The cycle in which it was washed.");
        _recipe = Add("Recipe", "The recipe by which it was judged, and its version.");
    }

    /// <summary>The verdict comes last: whoever waits for it finds the rest in place.</summary>
    public void Take(KegJudged judged)
    {
        var (verdict, at) = (judged.Verdict, PublishedWasher.Utc(judged.At.Latest));
        _kegId.Set(verdict.KegId, source: at);
        _cycleId.Set(verdict.CycleId, source: at);
        _recipe.Set($"{verdict.Recipe} version {verdict.RecipeVersion}", source: at);
        _reasons.Set(string.Join('\n', verdict.Results.Where(r => r.Verdict != Verdict.Met).Select(r => $"{r.Requirement}: {r.Evidence}")), source: at);
        _verdict.Set(
            verdict.Verdict switch
            {
                Verdict.Met => 1u,
                Verdict.NotMet => 2u,
                _ => 3u,
            },
            source: at);
    }
}
