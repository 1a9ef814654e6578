using WashBridge.Configuration;
using WashBridge.Core.Recipes;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Simulator;
using WashBridge.Simulator.Nodes;

namespace WashBridge.Tests.Subscribing;

/// <summary>A simulated washer as one that is read by subscription from the nodes that it has.</summary>
internal static class Subscribed
{
    public static WasherConfiguration Washer(SimulatedWasher washer, TimeSpan every) => new()
    {
        Model = washer.Model with { GapLimit = TimeSpan.FromSeconds(1.9) },
        Connection = new OpcUaConnection { Endpoint = new Uri("opc.tcp://127.0.0.1:4840") },
        Groups =
        [
            new PollGroup(0, "sequence", every, TimeSpan.FromSeconds(20)),
            new PollGroup(1, "measurements", every * 2, TimeSpan.FromSeconds(20)),
            new PollGroup(2, "settings", TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(60)),
        ],
        Tags = [.. washer.Map.Select(m => new Tag { Signal = m.Signal, Group = m.Group, Source = new OpcUaSource(NodeAddress.Parse($"nsu={NodeNames.NamespaceUri};s={NodeNames.IdOf(m.Signal)}")), DeadBand = m.DeadBand })],
        Recipe = new Recipe { Id = "r", Version = 1, Requirements = [] },
    };
}
