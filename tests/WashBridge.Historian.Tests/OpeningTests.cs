using WashBridge.Core.Signals;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Tests;

public sealed class OpeningTests
{
    [Fact]
    public void A_file_of_version_1_is_migrated_with_all_it_holds()
    {
        using var store = new Store();
        WriteVersion1(store.Path, [LogTests.Frame(0, 1.5), LogTests.Frame(1, 2.5)]);
        var old = Assert.Throws<HistorianException>(store.Reader);
        Assert.Equal((HistorianFault.OlderVersion, false), (old.Fault, old.IsTransient));

        Assert.Equal([1.5, 2.5], store.Historian.ReadLog(0, 10).Select(e => e.Frame!.Samples[0].Value.Number));
        Assert.Equal(3, store.Historian.AppendFrames([LogTests.Frame(2, 3.5)]));
        store.Historian.Seal(Store.At(100), TestContext.Current.CancellationToken);
        Assert.Equal([1.5, 2.5, 3.5], store.Reopen().ReadSamples(Generate.Signals[1], Store.At(0), Store.At(10)).Select(s => s.Value.Number));
        Assert.Equal((long)Schema.Current, store.Sql("PRAGMA user_version"));
    }

    [Fact]
    public void A_migrated_file_has_the_same_tables_as_a_new_one()
    {
        using var old = new Store();
        WriteVersion1(old.Path, [LogTests.Frame(0)]);
        _ = old.Historian;
        using var young = new Store();
        _ = young.Historian;
        const string Tables = "SELECT group_concat(sql, ';') FROM (SELECT sql FROM sqlite_schema ORDER BY name)";
        Assert.Equal(young.Sql(Tables), old.Sql(Tables));
        Assert.Equal((2L, 2L), (young.Sql("PRAGMA auto_vacuum"), old.Sql("PRAGMA auto_vacuum")));
    }

    [Fact]
    public void A_file_of_a_newer_version_is_refused_and_left_alone()
    {
        using var store = new Store();
        _ = store.Historian;
        store.Close();
        store.Sql($"PRAGMA user_version = {Schema.Current + 1}");
        foreach (var open in new Func<object>[] { () => store.Historian, store.Reader })
        {
            var refused = Assert.Throws<HistorianException>(open);
            Assert.Equal(HistorianFault.NewerVersion, refused.Fault);
            Assert.Contains($"version {Schema.Current + 1}", refused.Message, StringComparison.Ordinal);
        }

        Assert.Equal((long)Schema.Current + 1, store.Sql("PRAGMA user_version"));
    }

    [Fact]
    public void Another_programs_file_is_refused()
    {
        using var store = new Store();
        store.Sql("CREATE TABLE theirs(x)");
        Assert.Equal(HistorianFault.NotAHistorian, Assert.Throws<HistorianException>(() => store.Historian).Fault);
        File.WriteAllText(store.Path, new string('x', 5000));
        Assert.Equal(HistorianFault.NotAHistorian, Assert.Throws<HistorianException>(() => store.Historian).Fault);
        Assert.Equal(HistorianFault.NotAHistorian, Assert.Throws<HistorianException>(store.Reader).Fault);
    }

    [Fact]
    public void A_second_writer_is_refused_by_the_name_of_the_file_and_can_open_it_later()
    {
        using var store = new Store();
        _ = store.Historian;
        var refused = Assert.Throws<HistorianException>(() => Historian.Open(store.Path, store.Options, store.Time));
        Assert.Equal((HistorianFault.InUse, false), (refused.Fault, refused.IsTransient));
        Assert.Contains(store.Path, refused.Message, StringComparison.Ordinal);
        store.Close();
        using var second = Historian.Open(store.Path, store.Options, store.Time);
        Assert.Equal(1, second.AppendFrames([LogTests.Frame(0)]));
    }

    [Fact]
    public void A_missing_file_or_folder_is_named()
    {
        using var store = new Store();
        var noFile = Assert.Throws<HistorianException>(store.Reader);
        Assert.Equal(HistorianFault.Unavailable, noFile.Fault);
        Assert.Contains(store.Path, noFile.Message, StringComparison.Ordinal);
        Assert.False(File.Exists(store.Path));
        var noFolder = Assert.Throws<HistorianException>(() => Historian.Open(store.Path + "/none/x.washdb", store.Options, store.Time));
        Assert.Equal(HistorianFault.Unavailable, noFolder.Fault);
    }

    [Fact]
    public void An_append_that_finds_no_room_stores_nothing_and_works_once_there_is_room()
    {
        using var store = new Store(new HistorianOptions { BytesAtMost = 300_000, TailEntries = 0 });
        var stored = 0;
        HistorianException? full = null;
        while (full is null)
        {
            try
            {
                // Each with a signal of its own, so that numbers given to signals must be taken back too.
                store.Historian.AppendFrames([Frame(stored)]);
                stored++;
            }
            catch (HistorianException e)
            {
                full = e;
            }
        }

        Assert.Equal((HistorianFault.Full, true), (full.Fault, full.IsTransient));
        Assert.Equal(stored, store.Historian.LastSequence);
        Assert.Equal(stored, store.Historian.ReadLog(0, 10_000).Count);
        store.Options = new HistorianOptions();
        Assert.Equal(stored + 1, store.Reopen().AppendFrames([Frame(stored)]));
        Assert.Equal(Enumerable.Range(0, stored + 1).Select(i => Exact.Text(Frame(i))), store.Historian.ReadLog(0, 10_000).Select(e => Exact.Text(e.Frame!)));

        static Frame Frame(int i)
        {
            var frame = LogTests.Frame(i);
            return frame with { Samples = [frame.Samples[0] with { Signal = new Signal("w1", 0, $"other.s{i}", "", SignalType.Text), Value = SignalValue.Of(new string('x', 3000)) }] };
        }
    }

    [Fact]
    public void A_frame_that_makes_no_sense_is_refused_with_what_is_wrong()
    {
        using var store = new Store();
        Assert.Contains("256", Assert.Throws<ArgumentOutOfRangeException>(() => store.Historian.AppendFrames([LogTests.Frame(0) with { Group = 256 }])).Message, StringComparison.Ordinal);
        Assert.Contains("w1/temperature.caustic", Assert.Throws<ArgumentException>(() => store.Historian.AppendFrames([LogTests.Frame(0), LogTests.Frame(0) with { Washer = "w2" }])).Message, StringComparison.Ordinal);
        Assert.Empty(store.Reopen().ReadLog(0, 10));
        Assert.Equal(1, store.Historian.AppendFrames([LogTests.Frame(0)]));
    }

    [Fact]
    public void Options_out_of_range_are_refused_with_the_range()
    {
        Assert.Contains("1 to 19", Assert.Throws<ArgumentOutOfRangeException>(() => new HistorianOptions { CompressionLevel = 20 }).Message, StringComparison.Ordinal);
        Assert.Throws<ArgumentOutOfRangeException>(() => new HistorianOptions { TailEntries = -1 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new HistorianOptions { SegmentSamples = 999 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new HistorianOptions { CacheSamples = -1 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new HistorianOptions { BytesAtMost = 65_535 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new HistorianOptions { LockTimeout = TimeSpan.FromSeconds(61) });
    }

    private static void WriteVersion1(string path, Frame[] frames)
    {
        using var database = Database.OpenForWriting(path, TimeSpan.Zero);
        database.SetPragma("auto_vacuum", 2);
        Schema.Upgrade(database, 0, 1);
        database.Write(() =>
        {
            var batch = new HotBatch(new WriterRegistry(database));
            Assert.Equal(frames.Length, batch.Fill(frames, 0, 1));
            database.Prepare("INSERT INTO hot VALUES(?, ?, ?, ?, ?, ?)").Bind(1, batch.FirstSequence).Bind(2, batch.LastSequence)
                .Bind(3, batch.First).Bind(4, batch.Last).Bind(5, batch.Sources).Bind(6, batch.Body).Run();
        });
    }
}
