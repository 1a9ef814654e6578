using CsCheck;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Analysing;

public sealed class AnalysisFollowerTests
{
    private static readonly Site Site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;

    [Fact]
    public void Every_kind_of_event_is_an_input_or_a_finding_or_of_no_concern_and_none_is_both()
    {
        string[] ofNoConcern = ["step-started", "step-ended", "drain-measured", "cycle-paused", "cycle-resumed", "keg-scanned", "keg-decided", "keg-inspected", "lot-sampled", "titration-recorded", "record-corrected", "account-changed", "keg-rejudged"];
        Assert.Equal(WashJson.Kinds.Order(StringComparer.Ordinal), AnalysisInputs.Kinds.Concat(AnalysisInputs.Findings).Concat(ofNoConcern).Order(StringComparer.Ordinal));
    }

    /// <summary>Killed at any moment, the follower loses its memory but not what it has appended.</summary>
    [Fact]
    public void However_often_it_is_killed_or_stopped_the_findings_are_those_of_one_go() => Gen.Select(Gen.Int[0, 100_000], Gen.Select(Gen.Int[1, 40], Gen.Int[0, 3]).Array[1, 30]).Sample(
        (seed, stretches) =>
        {
            var events = WashNights.Make(seed, stretches.Sum(s => s.Item1));
            using var once = new Store();
            once.Historian.AppendEvents(events);
            new AnalysisFollower(once.Historian, Site, NullLogger.Instance).CatchUp();

            using var often = new Store();
            var follower = new AnalysisFollower(often.Historian, Site, NullLogger.Instance);
            var at = 0;
            foreach (var (count, what) in stretches)
            {
                often.Historian.AppendEvents(events.GetRange(at, count));
                at += count;
                if (what > 0)
                {
                    follower.CatchUp();
                }

                if (what == 2)
                {
                    follower.Save();
                }

                if (what >= 2)
                {
                    follower = new AnalysisFollower(often.Historian, Site, NullLogger.Instance);
                }
            }

            follower.CatchUp();
            Assert.Equal(Findings(once.Historian), Findings(often.Historian));
            Assert.Equal(often.Historian.LastSequence, follower.Cursor);
        },
        iter: 30);

    /// <summary>One has saved often, the other long ago: each goes on from its own place.</summary>
    [Fact]
    public void Killed_when_one_washer_was_saved_later_than_another_the_findings_are_those_of_one_go()
    {
        // Without quiet hours: else both are saved once a day.
        var events = WashNights.Make(7, 4000, quietHours: false);
        using var once = new Store();
        once.Historian.AppendEvents(events);
        new AnalysisFollower(once.Historian, Site, NullLogger.Instance).CatchUp();

        using var often = new Store();
        long? SavedAt(string washer) => often.Historian.ReadFollower(AnalysisFollower.RowOf(washer))?.Sequence;
        var apart = 0;
        foreach (var stretch in events.Chunk(1100))
        {
            apart += SavedAt("north") != SavedAt("yard") ? 1 : 0;
            var follower = new AnalysisFollower(often.Historian, Site, NullLogger.Instance);
            foreach (var few in stretch.Chunk(20))
            {
                often.Historian.AppendEvents(few);
                follower.CatchUp();
            }
        }

        Assert.NotEqual(0, apart);
        Assert.Equal(Findings(once.Historian), Findings(often.Historian));
    }

    [Fact]
    public void There_is_something_to_find_in_these_nights()
    {
        using var store = new Store();
        store.Historian.AppendEvents(WashNights.Make(1, 800));
        new AnalysisFollower(store.Historian, Site, NullLogger.Instance).CatchUp();
        var found = Findings(store.Historian);
        Assert.Contains(found, f => f.Contains("\"alarm\":\"kegs-not-met\"", StringComparison.Ordinal) && f.Contains("\"to\":\"Acknowledged\"", StringComparison.Ordinal));
        Assert.Contains(found, f => f.Contains("\"alarm\":\"not-readable\"", StringComparison.Ordinal));
        Assert.Contains(found, f => f.Contains("\"alarm-order-refused\"", StringComparison.Ordinal));
    }

    [Fact]
    public void A_washers_state_is_saved_after_two_hundred_of_its_cycles_or_a_day_and_not_before()
    {
        using var store = new Store();
        var follower = new AnalysisFollower(store.Historian, Site, NullLogger.Instance);
        var night = new WashNights(seed: 3);
        FollowerState? Row(string washer) => store.Historian.ReadFollower(AnalysisFollower.RowOf(washer));
        store.Historian.AppendEvents([.. Enumerable.Range(0, 199).Select(_ => night.Cycle(TimeSpan.FromSeconds(10)))]);
        follower.CatchUp();
        Assert.Null(store.Historian.ReadFollower(AnalysisFollower.Name));
        store.Historian.AppendEvents([night.Cycle(TimeSpan.FromSeconds(10))]);
        follower.CatchUp();
        Assert.Equal(follower.Cursor, store.Historian.ReadFollower(AnalysisFollower.Name)!.Sequence);
        Assert.Equal(follower.Cursor, Row("north")!.Sequence);

        // What is saved of one is saved of all, or nobody could tell which of the others are new.
        var first = Row("yard");
        Assert.Equal(follower.Cursor, first!.Sequence);
        store.Historian.AppendEvents([night.Cycle(TimeSpan.FromHours(20)), .. Enumerable.Range(0, 199).Select(_ => night.Cycle(TimeSpan.FromSeconds(10)))]);
        follower.CatchUp();
        Assert.Equal((follower.Cursor, first), (Row("north")!.Sequence, Row("yard")!));
        store.Historian.AppendEvents([night.Cycle(TimeSpan.FromHours(3))]);
        follower.CatchUp();
        Assert.Equal(first, Row("yard"));
        store.Historian.AppendEvents([night.Cycle(TimeSpan.FromHours(1))]);
        follower.CatchUp();
        Assert.Equal(follower.Cursor, Row("yard")!.Sequence);
        Assert.NotEqual(follower.Cursor, Row("north")!.Sequence);
    }

    /// <summary>Its row would stay where it is, and nothing behind it would ever expire.</summary>
    [Fact]
    public void The_state_of_a_washer_that_has_left_the_site_goes()
    {
        using var store = new Store();
        store.Historian.AppendEvents(WashNights.Make(1, 300));
        var follower = new AnalysisFollower(store.Historian, Site, NullLogger.Instance);
        follower.CatchUp();
        follower.Save();
        _ = new AnalysisFollower(store.Historian, Site with { Washers = [Site.Washers[0]] }, NullLogger.Instance);
        Assert.Equal([AnalysisFollower.Name, AnalysisFollower.RowOf("north")], store.Historian.ReadFollowers().Select(f => f.Follower).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void A_washer_that_is_new_to_the_site_begins_where_the_site_stands()
    {
        using var store = new Store();
        var one = Site with { Washers = [Site.Washers[0]] };
        store.Historian.AppendEvents(WashNights.Make(1, 300));
        var follower = new AnalysisFollower(store.Historian, one, NullLogger.Instance);
        follower.CatchUp();
        follower.Save();
        Assert.Equal(follower.Cursor, new AnalysisFollower(store.Historian, Site, NullLogger.Instance).Cursor);
    }

    [Theory]
    [InlineData(AnalysisFollower.Name, "not json")]
    [InlineData(AnalysisFollower.Name, "{\"north\":\"{}\",\"yard\":\"{}\"}")]
    [InlineData(AnalysisFollower.Name + "/north", "[]")]
    [InlineData(AnalysisFollower.Name + "/north", "{\"alarms\":\"7\"}")]
    [InlineData(AnalysisFollower.Name + "/north", null)]
    public void A_state_of_another_version_is_left_and_all_is_analysed_anew(string row, string? state)
    {
        using var store = new Store();
        store.Historian.AppendEvents(WashNights.Make(1, 300));
        new AnalysisFollower(store.Historian, Site, NullLogger.Instance).CatchUp();
        var before = Findings(store.Historian);
        store.Historian.AppendEvents([], new FollowerState(row, 250, state));
        var follower = new AnalysisFollower(store.Historian, Site, NullLogger.Instance);
        Assert.Equal(0, follower.Cursor);
        follower.CatchUp();
        Assert.Equal(before, Findings(store.Historian));
    }

    [Fact]
    public void Events_that_are_of_no_concern_move_the_cursor_and_bring_nothing()
    {
        using var store = new Store();
        var follower = new AnalysisFollower(store.Historian, Site, NullLogger.Instance);
        var night = new WashNights(seed: 3);
        store.Historian.AppendEvents([.. Enumerable.Range(0, 3000).Select(_ => night.Scan())]);
        follower.CatchUp();
        Assert.Equal(3000, follower.Cursor);
        Assert.Equal(3000, store.Historian.LastSequence);
    }

    private static List<string> Findings(IHistorianReader historian) => [.. historian.ReadEvents(new EventQuery { Kinds = AnalysisInputs.Findings }).Select(WashJson.Write)];

    private sealed class Store : IDisposable
    {
        private readonly TemporaryFolder _folder = new();

        public Store() => Historian = HistorianFile.Open(_folder["a.washdb"], new HistorianOptions(), TimeProvider.System);

        public HistorianFile Historian { get; }

        public void Dispose()
        {
            Historian.Dispose();
            _folder.Dispose();
        }
    }
}
