using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests;

public sealed class WasherAnalysisTests
{
    [Fact]
    public void What_a_watch_finds_goes_through_those_after_it()
    {
        var analysis = new WasherAnalysis([new Echo("a"), new Echo("b")]);
        var found = analysis.Accept(Order("x"));
        Assert.Equal(["x/a", "x/b", "x/a/b"], found.Select(f => f.Id));
    }

    private static AlarmOrdered Order(string id) => new()
    {
        Id = id,
        Washer = "w1",
        At = TimeBounds.At(Instant.Parse("2031-03-05T08:00:00Z")),
        Order = new AlarmOrder("drain-valve@1", AlarmOrderKind.Acknowledge, "somebody"),
    };

    private sealed class Echo(string name) : IWatch
    {
        public string Name => name;

        public IReadOnlyList<WashEvent> Accept(WashEvent washEvent) => [washEvent with { Id = washEvent.Id + "/" + name }];

        public string Snapshot() => "{}";

        public void Restore(string snapshot)
        {
        }
    }
}
