using CsCheck;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

public sealed class SealTests
{
    [Fact]
    public void Sealing_changes_no_answer() => Gen.Select(Generate.Frames(80), Gen.Int[0, 79], Gen.Int[0, 79], Gen.Int[1, 9]).Sample(
        (frames, a, b, step) =>
        {
            using var store = new Store(new HistorianOptions { TailEntries = 0, SegmentSamples = 1000 });
            LogTests.Append(store.Historian, frames, 7);
            store.Historian.AppendEvents([Generate.Event("e1"), Generate.Event("e2", "w2")]);
            LogTests.Append(store.Historian, frames, 100);
            var from = frames[a % frames.Count].Read.Earliest;
            var until = Instant.Max(from, frames[b % frames.Count].Read.Latest);
            var hot = Answers(store.Historian, from, until, step);

            // First a part of it, so that sealed and hot data must be joined; then all.
            store.Historian.Seal(frames[b % frames.Count].Read.Latest);
            Assert.Equal(hot, Answers(store.Historian, from, until, step));
            store.Historian.Seal(Store.At(1e9));
            Assert.Equal(hot, Answers(store.Historian, from, until, step));
            Assert.Equal(hot, Answers(store.Reopen(), from, until, step));
            using var reader = store.Reader();
            Assert.Equal(hot, Answers(reader, from, until, step));
            Assert.Equal(0, store.Rows("hot"));
            Assert.Empty(store.Historian.Damage);
        },
        iter: 40, threads: 1);

    [Fact]
    public void Hourly_summaries_are_those_of_the_samples() => Generate.Frames(80).Sample(
        frames =>
        {
            using var store = new Store();
            LogTests.Append(store.Historian, frames, 9);
            Check("hot");
            store.Historian.Seal(frames[frames.Count / 2].Read.Latest);
            Check("half sealed");
            store.Historian.Seal(Store.At(1e9));
            Check("sealed");

            void Check(string state)
            {
                foreach (var signal in Generate.Signals)
                {
                    var counted = frames.SelectMany(f => f.Samples).Where(s => s.Signal == signal && s.Quality != Quality.Bad && !double.IsNaN(s.Value.Number)).ToList();
                    var expected = counted.GroupBy(s => (long)Math.Floor(s.At.Latest.UnixMicroseconds / 3.6e9)).OrderBy(g => g.Key).ToList();
                    var found = store.Historian.ReadHourly(signal, Store.At(-1e8), Store.At(1e8));
                    Assert.True(expected.Select(g => g.Key * 3_600_000_000).SequenceEqual(found.Select(h => h.Hour.UnixMicroseconds)), state);
                    foreach (var (hour, summary) in expected.Zip(found))
                    {
                        Assert.Equal(hour.Count(), summary.Count);
                        Assert.Equal(hour.Min(s => s.Value.Number), summary.Minimum);
                        Assert.Equal(hour.Max(s => s.Value.Number), summary.Maximum);
                        Assert.Equal(hour.OrderBy(s => s.At.Latest).Last().Value.Number, summary.Last);
                        if (hour.Any(s => !(Math.Abs(s.Value.Number) < 1e100)))
                        {
                            // Sums beyond the range of a double depend on their order.
                            continue;
                        }

                        var mean = hour.Sum(s => s.Value.Number) / hour.Count();
                        Assert.True(mean.Equals(summary.Mean) || Math.Abs(mean - summary.Mean) <= 1e-9 * hour.Max(s => Math.Abs(s.Value.Number)), $"{mean} and {summary.Mean}");
                    }
                }
            }
        },
        iter: 40, threads: 1);

    [Fact]
    public void The_last_sample_before_a_period_comes_with_it_if_it_is_not_older_than_a_day()
    {
        using var store = new Store();
        store.Historian.AppendFrames([LogTests.Frame(0, 1), LogTests.Frame(90_000, 2), LogTests.Frame(93_000, 3)]);
        foreach (var action in new Action[] { () => { }, () => store.Historian.Seal(Store.At(92_000), TestContext.Current.CancellationToken), () => store.Historian.Seal(Store.At(1e9), TestContext.Current.CancellationToken) })
        {
            action();
            double[] Numbers(double from, double until) => [.. store.Historian.ReadSamples(Generate.Signals[1], Store.At(from), Store.At(until)).Select(s => s.Value.Number)];
            Assert.Equal([1, 2, 3], Numbers(0, 1e6));
            Assert.Equal([2, 3], Numbers(91_000, 1e6));
            Assert.Equal([1], Numbers(80_000, 85_000));
            Assert.Empty(Numbers(86_500, 89_000));
            Assert.Equal([2], Numbers(90_000.5, 92_000));
        }
    }

    [Fact]
    public void A_clock_that_ran_far_ahead_does_not_keep_the_rest_from_being_sealed()
    {
        using var store = new Store();
        store.Historian.AppendFrames([LogTests.Frame(0)]);
        store.Historian.AppendFrames([LogTests.Frame(3e9)]);
        store.Historian.AppendFrames([LogTests.Frame(10)]);
        store.Historian.AppendFrames([LogTests.Frame(5000)]);
        store.Historian.Seal(Store.At(60), TestContext.Current.CancellationToken);
        Assert.Equal(1, store.Rows("hot"));
        Assert.Equal([1, 2, 3, 4], store.Reopen().ReadLog(0, 10).Select(e => e.Sequence));
        Assert.Equal(Store.At(3e9), store.Historian.ReadFrames("w1", Store.At(2e9), Store.At(4e9))[0].Read.Earliest);
    }

    [Fact]
    public async Task Appends_and_followers_go_on_while_it_seals()
    {
        using var store = new Store(new HistorianOptions { SegmentSamples = 1000, TailEntries = 10 });
        for (var i = 0; i < 400; i++)
        {
            store.Historian.AppendFrames([LogTests.Frame(i * 30), LogTests.Frame(i * 30 + 1)]);
        }

        var sealing = Task.Run(() => store.Historian.Seal(Store.At(400 * 30), TestContext.Current.CancellationToken), TestContext.Current.CancellationToken);
        long seen = 0;
        var count = 400;
        var expected = 0;
        do
        {
            expected = count * 2;
            store.Historian.AppendFrames([LogTests.Frame(count * 30), LogTests.Frame(count * 30 + 1)]);
            count++;
            foreach (var entry in store.Historian.ReadLog(seen, 50))
            {
                Assert.Equal(++seen, entry.Sequence);
            }
        }
        while (!sealing.IsCompleted || seen < expected);
        await sealing;
        Assert.Equal(Enumerable.Range(1, count * 2).Select(i => (long)i), store.Reopen().ReadLog(0, 100_000).Select(e => e.Sequence));
    }

    private static List<string> Answers(IHistorianReader reader, Instant from, Instant until, int step)
    {
        var answers = new List<string>();
        answers.AddRange(LogTests.InSteps(reader, 0, step).Select(Exact.Text));
        answers.AddRange(LogTests.InSteps(reader, 3, 1000, "w1").Select(Exact.Text));
        answers.AddRange(reader.ReadFrames("w1", from, until).Select(Exact.Text));
        foreach (var signal in Generate.Signals)
        {
            answers.Add(signal.ToString());
            answers.AddRange(reader.ReadSamples(signal, from, until).Select(Exact.Text));
        }

        return answers;
    }
}
