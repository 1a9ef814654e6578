using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

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

    /// <summary>Who records that a bath was made up anew need not know that forecasts hear of work on components.</summary>
    [Fact]
    public void A_bath_made_up_anew_is_work_on_it()
    {
        var changed = new BathChanged { Id = "x", Washer = "w1", At = TimeBounds.At(Instant.Parse("2031-03-05T08:00:00Z")), Act = new Act { By = "somebody", Reason = "low" }, Bath = "acid" };
        var heard = Assert.IsType<MaintenanceRecorded>(Assert.Single(new WasherAnalysis([new Echo("a")]).Accept(changed)));
        Assert.Equal(("x/a", "bath/acid", MaintenanceKind.Replaced), (heard.Id, heard.Component.Key, heard.Work));
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
