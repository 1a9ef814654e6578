using WashBridge.Core.Signals;

namespace WashBridge.Historian.Tests;

/// <summary>One flipped bit at a time: it is found, it is reported, and it costs no more than what it hit.</summary>
public sealed class DamageTests
{
    private static readonly Signal Temperature = Generate.Signals[1];
    private static readonly Signal Dry = Generate.Signals[2];

    [Fact]
    public void A_damaged_hot_batch_becomes_a_failed_frame_and_the_rest_is_read()
    {
        using var store = Filled(seal: false);
        store.FlipBit("hot", "body", "first_seq = 3");
        using var reader = store.Reader();
        var entries = reader.ReadLog(0, 100);
        Assert.Equal([1, 2, 3, 5, 6], entries.Select(e => e.Sequence));
        AssertLost(entries[2].Frame!, "hot batch 3");
        Assert.Equal([1, 3], LogTests.InSteps(reader, 0, 1).Where(e => e.Frame!.Kind != FrameKind.Changes || e.Sequence == 1).Select(e => e.Sequence));
        AssertLost(Assert.Single(reader.ReadFrames("w1", Store.At(0), Store.At(100)), f => f.Kind == FrameKind.Failed), "hot batch 3");
        Assert.Equal([Quality.Good, Quality.Good, Quality.Bad, Quality.Good, Quality.Good], reader.ReadSamples(Temperature, Store.At(0), Store.At(100)).Select(s => s.Quality));
        Assert.Equal(3, Assert.Single(reader.Damage).FirstSequence);
        Assert.Contains("checksum", Assert.Single(reader.Verify(cancellation: TestContext.Current.CancellationToken)).Problem, StringComparison.Ordinal);
    }

    [Fact]
    public void A_failed_frame_in_the_place_of_damage_is_sealed_like_any_other()
    {
        using var store = Filled(seal: false);
        store.FlipBit("hot", "body", "first_seq = 3");
        store.Historian.Seal(Store.At(1000), TestContext.Current.CancellationToken);
        var entries = store.Reopen().ReadLog(0, 100);
        Assert.Equal([1, 2, 3, 5, 6], entries.Select(e => e.Sequence));
        AssertLost(entries[2].Frame!, "hot batch 3");
        Assert.Empty(store.Historian.Damage);
    }

    [Fact]
    public void Damaged_samples_of_one_signal_leave_the_other_signals_and_all_frames()
    {
        using var store = Filled(seal: true);
        var start = (long)store.Sql("SELECT start + length - 4 FROM chunks WHERE signal = (SELECT id FROM signals WHERE name = 'temperature.caustic')")!;
        store.Sql("UPDATE blocks SET body = substr(body, 1, $at) || x'00' || substr(body, $at + 2)", ("$at", start));
        using var reader = store.Reader();
        var entries = reader.ReadLog(0, 100);
        Assert.Equal([1, 2, 3, 4, 5, 6], entries.Select(e => e.Sequence));
        Assert.Equal(Quality.Bad, Assert.Single(entries[0].Frame!.Samples, s => s.Signal == Temperature).Quality);
        Assert.All(entries.Skip(1), e => Assert.Equal(Dry, Assert.Single(e.Frame!.Samples).Signal));
        var gap = Assert.Single(reader.ReadSamples(Temperature, Store.At(0), Store.At(100)));
        Assert.Equal((Quality.Bad, Store.At(0.01), Store.At(5.01)), (gap.Quality, gap.At.Earliest, gap.At.Latest));
        Assert.Equal(6, reader.ReadSamples(Dry, Store.At(0), Store.At(100)).Count);
        Assert.Equal(6, reader.ReadHourly(Temperature, Store.At(0), Store.At(100))[0].Count);
        Assert.NotEmpty(reader.Damage);
        Assert.Single(reader.Verify(cancellation: TestContext.Current.CancellationToken));
    }

    [Theory]
    [InlineData("times")]
    [InlineData("notes")]
    public void Damaged_frames_of_a_group_become_one_failed_frame_over_their_time(string column)
    {
        using var store = Filled(seal: true);
        store.FlipBit("frame_chunks", column, "1");
        using var reader = store.Reader();
        var entry = Assert.Single(reader.ReadLog(0, 100));
        AssertLost(entry.Frame!, "segment 1");
        Assert.Equal((Store.At(0.01), Store.At(5.01)), (entry.Frame!.Read.Earliest, entry.Frame.Read.Latest));
        Assert.Equal(entry.Frame.Reason, Assert.Single(reader.ReadFrames("w1", Store.At(2), Store.At(3))).Reason);
        Assert.Equal((1, 6), (reader.Damage[0].FirstSequence, reader.Damage[0].LastSequence));
    }

    [Fact]
    public void A_damaged_event_is_left_out_and_reported()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("a"), Generate.Event("b"), Generate.Event("c")]);
        store.Close();
        store.FlipBit("events", "body", "seq = 2");
        using var reader = store.Reader();
        Assert.Equal(["a", "c"], reader.ReadEvents(new EventQuery()).Select(e => e.Id));
        Assert.Equal([1, 3], LogTests.InSteps(reader, 0, 1).Select(e => e.Sequence));
        Assert.Equal("event 2", Assert.Single(reader.Damage).Place);
        Assert.Equal("event 2", Assert.Single(reader.Verify(cancellation: TestContext.Current.CancellationToken)).Place);
    }

    /// <summary>Whichever byte it is: method, length, content or checksum.</summary>
    [Fact]
    public void A_packed_event_with_one_byte_changed_is_left_out_and_reported()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("a"), Records.Judged(1, "K-1"), Generate.Event("c")]);
        store.Close();
        var body = (byte[])store.Sql("SELECT body FROM events WHERE seq = 2")!;
        for (var i = 0; i < body.Length; i++)
        {
            byte[] damaged = [.. body];
            damaged[i] ^= 0x15;
            store.Sql("UPDATE events SET body = $body WHERE seq = 2", ("$body", damaged));
            using var reader = store.Reader();
            Assert.Equal(["a", "c"], reader.ReadEvents(new EventQuery()).Select(e => e.Id));
            Assert.Equal("event 2", Assert.Single(reader.Damage).Place);
        }
    }

    [Fact]
    public void A_check_of_a_sound_file_finds_nothing_and_tells_how_far_it_is()
    {
        using var store = Filled(seal: true);
        store.Historian.AppendFrames([LogTests.Frame(20)]);
        store.Historian.AppendEvents([Generate.Event("a")]);
        var steps = new Steps();
        Assert.Empty(store.Historian.Verify(steps, TestContext.Current.CancellationToken));
        Assert.Equal(new HistorianProgress(3, 3), steps.Last);
        Assert.Throws<OperationCanceledException>(() => store.Historian.Verify(cancellation: new CancellationToken(canceled: true)));
    }

    /// <summary>Six frames, one a second, in three batches, of one group with two signals.</summary>
    private static Store Filled(bool seal)
    {
        var store = new Store(new HistorianOptions { TailEntries = 0 });
        foreach (var batch in Enumerable.Range(0, 6).Select(i => LogTests.Frame(i, i / 10.0)).Select(WithDry).Chunk(2))
        {
            store.Historian.AppendFrames(batch);
        }

        if (seal)
        {
            store.Historian.Seal(Store.At(1000), TestContext.Current.CancellationToken);
        }

        store.Close();
        return store;
    }

    private static Frame WithDry(Frame frame) =>
        frame with { Samples = [.. frame.Samples, new Sample(Dry, new SignalValue(1), Quality.Good, frame.Read)] };

    private static void AssertLost(Frame frame, string place)
    {
        Assert.Equal(FrameKind.Failed, frame.Kind);
        Assert.Equal(("w1", 0), (frame.Washer, frame.Group));
        Assert.Contains(place, frame.Reason, StringComparison.Ordinal);
    }

    private sealed class Steps : IProgress<HistorianProgress>
    {
        public HistorianProgress Last { get; private set; }

        public void Report(HistorianProgress value) => Last = value;
    }
}
