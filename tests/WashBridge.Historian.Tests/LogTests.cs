using CsCheck;
using WashBridge.Core.Signals;

namespace WashBridge.Historian.Tests;

public sealed class LogTests
{
    [Fact]
    public void Frames_come_back_as_they_went_in_to_the_bit_also_after_opening_anew() => Generate.Frames(60).Sample(
        frames =>
        {
            using var store = new Store(new HistorianOptions { TailEntries = 7 });
            Append(store.Historian, frames, 9);
            var expected = frames.Select((f, i) => Exact.Text(new LogEntry(i + 1, f, null))).ToList();
            Assert.Equal(expected, store.Historian.ReadLog(0, 10_000).Select(Exact.Text));
            Assert.Equal(expected, store.Reopen().ReadLog(0, 10_000).Select(Exact.Text));
        },
        iter: 60, threads: 1);

    [Fact]
    public void The_log_can_be_read_from_anywhere_for_one_washer_in_steps_of_any_size() => Gen.Select(Generate.Frames(60), Gen.Int[1, 7], Gen.Int[0, 60]).Sample(
        (frames, step, start) =>
        {
            using var store = new Store(new HistorianOptions { TailEntries = 5 });
            Append(store.Historian, frames, 4);
            var expected = frames.Select((f, i) => new LogEntry(i + 1, f, null)).Where(e => e.Sequence > start && e.Frame!.Washer == "w2").Select(Exact.Text);
            Assert.Equal(expected, InSteps(store.Historian, start, step, "w2").Select(Exact.Text));
            using var reader = store.Reader();
            Assert.Equal(expected, InSteps(reader, start, step, "w2").Select(Exact.Text));
        },
        iter: 40, threads: 1);

    [Fact]
    public void Frames_and_events_share_one_counter_and_one_order()
    {
        using var store = new Store();
        Assert.Equal(0, store.Historian.LastSequence);
        Assert.Equal(2, store.Historian.AppendFrames([Frame(0), Frame(1)]));
        Assert.Equal(4, store.Historian.AppendEvents([Generate.Event("a"), Generate.Event("b")]));
        Assert.Equal(5, store.Historian.AppendFrames([Frame(2)]));
        foreach (var reader in new[] { store.Historian, store.Reader(), store.Reopen() })
        {
            Assert.Equal([1, 2, 3, 4, 5], reader.ReadLog(0, 100).Select(e => e.Sequence));
            Assert.Equal([3, 4], reader.ReadLog(0, 100, LogContent.Events).Select(e => e.Sequence));
            Assert.Equal([2, 5], reader.ReadLog(1, 100, LogContent.Frames).Select(e => e.Sequence));
            Assert.Equal([2, 3], reader.ReadLog(1, 2).Select(e => e.Sequence));
            Assert.Empty(reader.ReadLog(0, 100, washer: "nobody"));
            Assert.Equal(5, reader.LastSequence);
            reader.Dispose();
        }
    }

    [Fact]
    public void A_quiet_washers_follower_learns_that_there_is_nothing_new_without_the_others_entries()
    {
        using var store = new Store(new HistorianOptions { TailEntries = 4 });
        store.Historian.AppendFrames([Frame(0) with { Washer = "quiet", Samples = [] }]);
        for (var i = 1; i < 20; i++)
        {
            store.Historian.AppendFrames([Frame(i)]);
        }

        Assert.Empty(store.Historian.ReadLog(1, 10, washer: "quiet"));
        Assert.Single(store.Historian.ReadLog(0, 10, washer: "quiet"));
        Assert.Empty(store.Reopen().ReadLog(1, 10, washer: "quiet"));
        store.Historian.AppendEvents([Generate.Event("x", "quiet")]);
        Assert.Equal("x", Assert.Single(store.Historian.ReadLog(1, 10, washer: "quiet")).Event!.Id);
    }

    [Fact]
    public void Frames_of_a_period_are_those_read_wholly_within_it() => Gen.Select(Generate.Frames(60), Gen.Int[0, 59], Gen.Int[0, 59]).Sample(
        (frames, a, b) =>
        {
            using var store = new Store();
            Append(store.Historian, frames, 6);
            var from = frames[a % frames.Count].Read.Earliest;
            var until = frames[b % frames.Count].Read.Latest;
            var expected = frames.Where(f => f.Washer == "w1" && f.Read.Earliest >= from && f.Read.Latest <= until).Select(Exact.Text);
            Assert.Equal(expected, store.Historian.ReadFrames("w1", from, until).Select(Exact.Text));
        },
        iter: 60, threads: 1);

    internal static Frame Frame(double seconds, double value = 1) => new()
    {
        Washer = "w1",
        Group = 0,
        Kind = FrameKind.Changes,
        Read = new(Store.At(seconds), Store.At(seconds + 0.01)),
        Samples = [new Sample(Generate.Signals[1], new SignalValue(value), Quality.Good, new(Store.At(seconds), Store.At(seconds + 0.01)))],
    };

    internal static void Append(IHistorian historian, List<Frame> frames, int batch)
    {
        foreach (var chunk in frames.Chunk(batch))
        {
            historian.AppendFrames(chunk);
        }
    }

    internal static List<LogEntry> InSteps(IHistorianReader reader, long after, int step, string? washer = null)
    {
        var all = new List<LogEntry>();
        while (reader.ReadLog(after, step, washer: washer) is { Count: > 0 } entries)
        {
            all.AddRange(entries);
            after = entries[^1].Sequence;
        }

        return all;
    }
}
