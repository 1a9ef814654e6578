using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Nodes;
using WashBridge.Simulator.Registers;

namespace WashBridge.Tests.Configuration;

/// <summary>The shipped demonstration fits the simulator, address by address.</summary>
public sealed class DemoConfigurationTests
{
    private static readonly string File = Path.Combine(Repository.Root, "config/demo/site.yaml");

    public static TheoryData<string> Washers => [.. DemoScenario.Washers.Select(w => w.Options.Id)];

    [Fact]
    public void The_site_lists_the_washers_of_the_demonstration()
    {
        var site = Load();
        Assert.Equal((DemoScenario.SiteId, DemoScenario.SiteTitle), (site.Id, site.Title));
        Assert.Equal(
            DemoScenario.Washers.Select(w => (w.Options.Id, w.Options.Title, w.Port, w.Options.Stations)),
            site.Washers.Select(w => (w.Model.Washer, w.Title, Port(w.Connection), w.Model.Stations)));
    }

    [Theory]
    [MemberData(nameof(Washers))]
    public void Every_value_of_the_simulator_is_mapped_as_it_lies_there(string id)
    {
        var (demo, washer) = Find(id);
        Assert.Equal(demo.IsOpcUa, washer.Connection is OpcUaConnection);
        Assert.Equal(
            demo.Map.Select(m => (m.Signal, Place(demo, m), demo.IsOpcUa ? 1 : m.Scale, m.Group, m.DeadBand, false)).OrderBy(t => t.Signal.ToString()),
            washer.Tags.Select(t => (t.Signal, Place(t.Source), t.Scale, t.Group, t.DeadBand, t.Invert)).OrderBy(t => t.Signal.ToString()));
        Assert.All(washer.Tags, t => Assert.Equal(0, t.Offset));
    }

    [Theory]
    [MemberData(nameof(Washers))]
    public void Programme_and_sequence_are_those_of_the_simulator(string id)
    {
        var (demo, washer) = Find(id);
        Assert.Equal(demo.Model.Programme.Select(Describe), washer.Model.Programme.Select(Describe));
        Assert.Equal(demo.Model.DrainTimeout, washer.Model.DrainTimeout);
        Assert.Equal(Describe(demo.Model.Sequence), Describe(washer.Model.Sequence));
    }

    private static string Place(DemoWasher demo, MappedRegister register) => demo.IsOpcUa ? $"nsu={NodeNames.NamespaceUri};s={NodeNames.IdOf(register.Signal)}" : register.Point.ToString();

    private static string Place(TagSource source) => source is ModbusSource modbus ? modbus.Point.ToString() : ((OpcUaSource)source).Node.ToString();

    private static int Port(ControllerConnection connection) => connection is ModbusConnection modbus ? modbus.Port : ((OpcUaConnection)connection).Endpoint.Port;

    private static Site Load()
    {
        var loaded = ConfigurationLoader.Load(File);
        Assert.Empty(loaded.Problems);
        return loaded.Site!;
    }

    private static (DemoWasher Demo, WasherConfiguration Washer) Find(string id) =>
        (DemoScenario.Washers.Single(w => w.Options.Id == id), Load().Washers.Single(w => w.Model.Washer == id));

    private static string Describe(PhaseDefinition phase) => $"{phase.Id} {phase.Kind}: {string.Join(", ", phase.Steps)}";

    private static IEnumerable<string> Describe(SequenceRule rule) => rule switch
    {
        StepTable table => [
            .. table.Codes.OrderBy(c => c.Key).Select(c => $"{c.Key} {c.Value}"),
            $"idle {string.Join(", ", table.IdleCodes.Order())} paused {string.Join(", ", table.PausedCodes.Order())} fault {string.Join(", ", table.FaultCodes.Order())}"],

        // The step of an idle rule has no meaning.
        StepRules rules => rules.Rules.Select(r =>
            $"{string.Join(", ", r.Phases)} {(r.Phases.Count > 0 ? r.Step : null)} when {string.Join(", ", r.When.OrderBy(w => w.Key).Select(w => $"{w.Key} {w.Value}"))}"),
        _ => throw new ArgumentOutOfRangeException(nameof(rule)),
    };
}
