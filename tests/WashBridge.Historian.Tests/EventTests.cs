using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

public sealed class EventTests
{
    [Fact]
    public void An_event_whose_id_is_stored_is_skipped_and_takes_no_number()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("a"), Generate.Event("b")]);
        Assert.Equal(3, store.Historian.AppendEvents([Generate.Event("b"), Generate.Event("c"), Generate.Event("a")]));
        Assert.Equal(["a", "b", "c"], store.Historian.ReadLog(0, 10).Select(e => e.Event!.Id));
        Assert.Equal(3, store.Historian.AppendEvents([Generate.Event("c")]));
    }

    [Fact]
    public void A_follower_moves_with_the_events_that_follow_from_what_it_read_or_not_at_all()
    {
        using var store = new Store();
        store.Historian.AppendFrames([LogTests.Frame(0)]);
        Assert.Null(store.Historian.ReadFollower("segmenter/w1"));
        store.Historian.AppendEvents([Generate.Event("a")], new FollowerState("segmenter/w1", 1, "{\"k\":1}"));
        Assert.Equal(new FollowerState("segmenter/w1", 1, "{\"k\":1}"), store.Reopen().ReadFollower("segmenter/w1"));

        var ahead = Assert.Throws<ArgumentOutOfRangeException>(() => store.Historian.AppendEvents([Generate.Event("b")], new FollowerState("segmenter/w1", 9)));
        Assert.Contains("segmenter/w1", ahead.Message, StringComparison.Ordinal);
        Assert.Equal(1, store.Historian.ReadFollower("segmenter/w1")!.Sequence);
        Assert.Equal(["a"], store.Historian.ReadEvents(new EventQuery()).Select(e => e.Id));
        store.Historian.AppendEvents([], new FollowerState("segmenter/w1", 2));
        Assert.Equal(new FollowerState("segmenter/w1", 2), store.Historian.ReadFollower("segmenter/w1"));
    }

    [Fact]
    public void Events_are_found_by_washer_cycle_kind_and_time()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("a", "w1", 10, "c1"), Generate.Event("b", "w2", 20, "c2"), Generate.Event("c", "w1", 30, "c1"), Generate.Event("d", "w1", 5)]);
        string[] Ids(EventQuery query) => [.. store.Historian.ReadEvents(query).Select(e => e.Id)];
        Assert.Equal(["a", "b", "c", "d"], Ids(new EventQuery()));
        Assert.Equal(["a", "c", "d"], Ids(new EventQuery { Washer = "w1" }));
        Assert.Equal(["a", "c"], Ids(new EventQuery { CycleId = "c1" }));
        Assert.Equal(["a", "b"], Ids(new EventQuery { Kinds = ["keg-scanned", "cycle-ended"], AtMost = 2 }));
        Assert.Empty(Ids(new EventQuery { Kinds = ["cycle-ended"] }));
        Assert.Empty(Ids(new EventQuery { Washer = "w9" }));

        // Each lasts half a second; both ends of the query count as the contract says.
        Assert.Equal(["a", "b", "c"], Ids(new EventQuery { From = Store.At(10.5) }));
        Assert.Equal(["b", "c"], Ids(new EventQuery { From = Store.At(10.6) }));
        Assert.Equal(["a", "d"], Ids(new EventQuery { Until = Store.At(20) }));
        Assert.Equal(["c"], Ids(new EventQuery { Washer = "w1", Kinds = ["keg-scanned"], CycleId = "c1", From = Store.At(11), Until = Store.At(31), AtMost = 5 }));
    }

    [Fact]
    public void Records_are_stored_as_text_and_all_other_events_packed()
    {
        using var store = new Store();
        WashEvent[] events = [Records.Judged(1, "K-1"), Records.Titration(2)];
        store.Historian.AppendEvents(events);
        Assert.Equal(("blob", "text"), (store.Sql("SELECT typeof(body) FROM events WHERE seq = 1"), store.Sql("SELECT typeof(body) FROM events WHERE seq = 2")));
        Assert.Equal(WashJson.Write(events[1]), store.Sql("SELECT body FROM events WHERE seq = 2"));
        Assert.InRange((long)store.Sql("SELECT length(body) FROM events WHERE seq = 1")!, 1, WashJson.Write(events[0]).Length - 1);
        Assert.Equal(events.Select(WashJson.Write), store.Reopen().ReadEvents(new EventQuery()).Select(WashJson.Write));
    }

    /// <summary>Version 3 had the text of every event in its row.</summary>
    [Fact]
    public void Events_of_a_file_of_an_earlier_version_stay_as_they_are_and_are_read()
    {
        using var store = new Store();
        var old = Records.Judged(1, "K-1");
        store.Historian.AppendEvents([old]);
        store.Close();
        store.Sql("UPDATE events SET body = $body", ("$body", WashJson.Write(old)));
        store.Sql("PRAGMA user_version = 3");
        store.Reopen().AppendEvents([Records.Judged(2, "K-2")]);
        Assert.Equal((4L, "text", "blob"), (store.Sql("PRAGMA user_version"), store.Sql("SELECT typeof(body) FROM events WHERE seq = 1"), store.Sql("SELECT typeof(body) FROM events WHERE seq = 2")));
        Assert.Equal(["K-1", "K-2"], store.Historian.ReadEvents(new EventQuery()).Cast<KegJudged>().Select(e => e.Verdict.KegId));
        Assert.Empty(store.Historian.Verify(cancellation: TestContext.Current.CancellationToken));
    }

    [Fact]
    public void An_event_comes_back_as_the_same_record()
    {
        using var store = new Store();
        var scanned = Generate.Event("k\u00e9g \"1\"", "w\u00fc", 1.25, "c");
        store.Historian.AppendEvents([scanned]);
        using var reader = store.Reader();
        Assert.Equal(scanned, Assert.Single(reader.ReadEvents(new EventQuery())));
        Assert.Equal(WashJson.Write(scanned), WashJson.Write(reader.ReadLog(0, 1)[0].Event!));
    }

    [Fact]
    public void The_log_of_some_kinds_leaves_others_out_wherever_it_is_read_from()
    {
        using var store = new Store(new HistorianOptions { TailEntries = 0 });
        for (var i = 0; i < 2500; i++)
        {
            store.Historian.AppendEvents([Generate.Event($"k{i}"), new TimePassed { Id = $"t{i}", Washer = "w1", At = TimeBounds.At(Store.At(i)) }]);
            store.Historian.AppendFrames([LogTests.Frame(i)]);
        }

        var stored = store.Historian.ReadLog(0, 100_000, LogContent.Events);
        using var reader = store.Reader();
        foreach (var historian in new IHistorianReader[] { store.Historian, reader, new Plain(reader) })
        {
            Assert.Equal(stored.Where(e => e.Event is TimePassed), historian.ReadEventLog(0, 100_000, ["time-passed"]));
            Assert.Equal(stored.Where(e => e.Sequence > 3000).Take(1500), historian.ReadEventLog(3000, 1500, ["time-passed", "keg-scanned"]));
            Assert.Empty(historian.ReadEventLog(0, 10, ["cycle-ended"]));
            Assert.Empty(historian.ReadEventLog(historian.LastSequence, 10, ["time-passed"]));
        }
    }

    [Fact]
    public void Events_are_read_by_their_places_in_the_log()
    {
        using var store = new Store(new HistorianOptions { TailEntries = 0 });
        for (var i = 0; i < 1500; i++)
        {
            store.Historian.AppendEvents([Generate.Event($"k{i}")]);
            store.Historian.AppendFrames([LogTests.Frame(i)]);
        }

        var stored = store.Historian.ReadLog(0, 100_000, LogContent.Events);
        long[] places = [.. stored.Select(e => e.Sequence).Reverse(), stored[0].Sequence, stored[0].Sequence + 1, 100_000];
        using var reader = store.Reader();
        foreach (var historian in new IHistorianReader[] { store.Historian, reader, new Plain(reader) })
        {
            Assert.Equal(stored, historian.ReadEventsAt(places));
            Assert.Empty(historian.ReadEventsAt([]));
        }
    }

    /// <summary>A reader that has only what the interface asks of it.</summary>
    internal sealed class Plain(IHistorianReader reader) : IHistorianReader
    {
        public long LastSequence => reader.LastSequence;

        public IReadOnlyList<Signal> Signals => reader.Signals;

        public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content, string? washer) => reader.ReadLog(after, atMost, content, washer);

        public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => reader.ReadFrames(washer, from, until);

        public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => reader.ReadSamples(signal, from, until);

        public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => reader.ReadHourly(signal, from, until);

        public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => reader.ReadEvents(query);

        public FollowerState? ReadFollower(string follower) => reader.ReadFollower(follower);

        public void Dispose()
        {
        }
    }
}
