namespace WashBridge.Historian.Tests;

public sealed class RetentionTests
{
    [Fact]
    public void What_is_too_old_goes_and_its_space_comes_back_but_events_and_summaries_stay()
    {
        using var store = Filled(days: 4);

        // All of it in the file itself, none in the write-ahead log.
        store.Reopen();
        var before = new FileInfo(store.Path).Length;
        store.Historian.Expire(Store.At(3 * 86_400), TestContext.Current.CancellationToken);
        store.Close();
        var after = new FileInfo(store.Path).Length;
        Assert.True(after < before * 0.5, $"{before} bytes before, {after} after");
        Assert.All(store.Historian.ReadLog(0, 100_000, LogContent.Frames), e => Assert.True(e.Frame!.Read.Latest >= Store.At(3 * 86_400 - 3600)));
        Assert.Equal(4, store.Historian.ReadEvents(new EventQuery()).Count);
        Assert.Equal(4 * 24, store.Historian.ReadHourly(Generate.Signals[1], Store.At(0), Store.At(4 * 86_400)).Count);
        Assert.Empty(store.Historian.Verify(cancellation: TestContext.Current.CancellationToken));
    }

    [Fact]
    public void Numbers_are_never_given_twice_even_if_everything_is_dropped()
    {
        using var store = new Store();
        store.Historian.AppendFrames([LogTests.Frame(0), LogTests.Frame(1)]);
        store.Historian.AppendEvents([Records.Judged(1, "K-1")]);
        store.Historian.Expire(Store.At(1e6), TestContext.Current.CancellationToken);
        store.Historian.ExpireEvents(Store.At(1e6), TestContext.Current.CancellationToken);
        Assert.Equal((0, 0), (store.Rows("hot"), store.Rows("events")));
        Assert.Equal(3, store.Reopen().LastSequence);
        Assert.Equal(4, store.Historian.AppendFrames([LogTests.Frame(2)]));
    }

    [Fact]
    public void A_follower_that_is_behind_loses_nothing_and_one_that_is_removed_holds_back_nothing()
    {
        using var store = Filled(days: 2);
        store.Historian.AppendEvents([], new FollowerState("influx/plant", 30));
        store.Historian.Expire(Store.At(1e9), TestContext.Current.CancellationToken);
        store.Historian.ExpireEvents(Store.At(1e9), TestContext.Current.CancellationToken);
        var left = store.Historian.ReadLog(30, 100_000);
        Assert.Equal(31, left[0].Sequence);
        Assert.Equal(store.Historian.LastSequence - 30, left.Count);
        Assert.Equal(["influx/plant"], store.Historian.ReadFollowers().Select(f => f.Follower));

        Assert.True(store.Historian.RemoveFollower("influx/plant"));
        Assert.False(store.Historian.RemoveFollower("influx/plant"));
        store.Historian.Expire(Store.At(1e9), TestContext.Current.CancellationToken);
        Assert.Empty(store.Historian.ReadLog(0, 10, LogContent.Frames));
    }

    /// <summary>A frame a minute, sealed but for the last day, and an event a day.</summary>
    private static Store Filled(int days)
    {
        var store = new Store(new HistorianOptions { TailEntries = 0 });
        for (var day = 0; day < days; day++)
        {
            store.Historian.AppendFrames([.. Enumerable.Range(0, 1440).Select(minute => LogTests.Frame((day * 86_400) + (minute * 60), Math.Sin(minute * day)))]);
            store.Historian.AppendEvents([Generate.Event($"day {day}", seconds: day * 86_400)]);
        }

        store.Historian.Seal(Store.At((days - 1) * 86_400), TestContext.Current.CancellationToken);
        return store;
    }
}
