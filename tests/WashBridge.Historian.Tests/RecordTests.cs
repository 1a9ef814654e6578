using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

public sealed class RecordTests
{
    [Fact]
    public void Records_are_numbered_without_gaps_and_other_events_are_not()
    {
        using var store = new Store();
        Assert.Null(store.Historian.RecordHead);
        store.Historian.AppendEvents([Records.Titration(1), new TimePassed { Id = "t", Washer = "w1", At = TimeBounds.At(Store.At(1)) }, Generate.Event("a")]);
        store.Historian.AppendFrames([LogTests.Frame(0)]);
        store.Historian.AppendEvents([Records.Titration(1), Records.Account(2)]);
        using var beside = store.Reader();
        foreach (var reader in new[] { store.Historian, beside })
        {
            var records = reader.ReadRecords(0, 10);
            Assert.Equal([(1, 1, "w1/titration/1"), (2, 3, "a"), (3, 5, "site/account/2")], records.Select(r => ((int)r.Number, (int)r.Sequence, r.Event.Id)));
            Assert.Equal(new RecordHead(3, records[2].Hash), reader.RecordHead);
            Assert.Equal(records.Skip(1).Take(1), reader.ReadRecords(1, 1));
            Assert.Equal("T. Ester", records[0].Act.By);
            Assert.True(reader.VerifyRecords(cancellation: TestContext.Current.CancellationToken).IsWhole);
        }

        store.Reopen().AppendEvents([Records.Titration(9)]);
        Assert.Equal(4, store.Historian.RecordHead!.Number);
    }

    [Fact]
    public void A_historian_that_keeps_no_chain_tells_the_same_one_from_its_log()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Records.Titration(1), Generate.Event("a"), Records.Judged(3, "K-a"), Records.Correction(4, 2, "kegId", "\"K-b\"", "K-a", "K-b")]);
        IHistorianReader plain = new EventTests.Plain(store.Historian);
        Assert.Equal(Texts(store.Historian.ReadRecords(0, 100)), Texts(plain.ReadRecords(0, 100)));
        Assert.Equal(store.Historian.RecordHead, plain.RecordHead);
        Assert.Equal(Texts(store.Historian.ReadKeg("K-a")), Texts(plain.ReadKeg("K-a")));
        Assert.Equal(Texts(store.Historian.ReadKeg("K-b")), Texts(plain.ReadKeg("K-b")));
    }

    [Fact]
    public void An_append_that_fails_takes_no_number()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Records.Titration(1)]);
        Assert.Throws<ArgumentOutOfRangeException>(() => store.Historian.AppendEvents([Records.Titration(2), Records.Titration(3)], new FollowerState("f", 99)));
        store.Historian.AppendEvents([Records.Titration(4)]);
        Assert.Equal(["w1/titration/1", "w1/titration/4"], store.Historian.ReadRecords(0, 10).Select(r => r.Event.Id));
        Assert.True(store.Historian.VerifyRecords(cancellation: TestContext.Current.CancellationToken).IsWhole);
    }

    [Fact]
    public void Everything_about_a_keg_is_found_by_its_id_also_what_was_corrected_to_be_about_it()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("1"), Records.Judged(2, "K-1"), Records.Judged(3, "K-2"), Generate.Event("2"), Records.Correction(5, 1, "kegId", "\"K-2\"", "K-1", "K-2")]);
        Assert.Equal([(1, 1), (2, 0), (5, 3)], store.Historian.ReadKeg("K-1").Select(e => ((int)e.Sequence, (int)(e.Number ?? 0))));
        Assert.Equal([(1, 1), (3, 0), (4, 2), (5, 3)], store.Historian.ReadKeg("K-2").Select(e => ((int)e.Sequence, (int)(e.Number ?? 0))));
        Assert.Empty(store.Historian.ReadKeg("K-3"));
        Assert.Equal(["c2/s1/verdict"], store.Historian.ReadEvents(new EventQuery { KegId = "K-1", Kinds = ["keg-judged"] }).Select(e => e.Id));
        var corrected = KegFile.Of("K-2", store.Historian.ReadKeg("K-2")).Entries[0];
        Assert.Equal(("K-1", "K-2"), (((KegScanned)corrected.Event).KegId, ((KegScanned)corrected.Holds).KegId));
    }

    [Fact]
    public void Retention_leaves_records_and_takes_everything_else()
    {
        using var store = new Store();
        for (var i = 0; i < 900; i++)
        {
            store.Historian.AppendEvents([i % 3 == 0 ? Records.Titration(i) : Records.Judged(i, "K-1")]);
        }

        store.Historian.ExpireEvents(Store.At(1e6), TestContext.Current.CancellationToken);
        Assert.Equal((300, 300, 0), (store.Rows("events"), store.Rows("records"), store.Rows("kegs")));
        Assert.True(store.Reopen().VerifyRecords(cancellation: TestContext.Current.CancellationToken).IsWhole);
        Assert.Equal(901, store.Historian.AppendEvents([Records.Titration(2000)]));
    }

    [Fact]
    public void A_file_of_version_2_is_migrated_with_its_records_chained_as_they_lie_in_the_log()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("a"), Records.Judged(2, "K-a"), Records.Titration(3), Generate.Event("b")]);
        var (head, records, keg) = (store.Historian.RecordHead, Texts(store.Historian.ReadRecords(0, 10)), Texts(store.Historian.ReadKeg("K-a")));
        store.Close();
        store.Sql("DROP TABLE records; DROP TABLE kegs; PRAGMA user_version = 2");
        Assert.Equal(HistorianFault.OlderVersion, Assert.Throws<HistorianException>(store.Reader).Fault);

        Assert.Equal(head, store.Historian.RecordHead);
        Assert.Equal(records, Texts(store.Historian.ReadRecords(0, 10)));
        Assert.Equal(keg, Texts(store.Historian.ReadKeg("K-a")));
        Assert.True(store.Historian.VerifyRecords(head, cancellation: TestContext.Current.CancellationToken).IsWhole);
    }

    [Fact]
    public void A_damaged_record_is_chained_at_migration_as_it_is_stored()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Records.Titration(1), Records.Titration(2)]);
        store.Close();
        store.FlipBit("events", "body", "seq = 1");
        store.Sql("DROP TABLE records; DROP TABLE kegs; PRAGMA user_version = 2");
        Assert.Equal(2, store.Historian.RecordHead!.Number);
        Assert.Equal([2], store.Historian.ReadRecords(0, 10).Select(r => (int)r.Number));
    }

    [Fact]
    public void A_page_of_records_ends_where_it_is_asked_to_and_the_next_goes_on()
    {
        using var store = new Store();
        store.Historian.AppendEvents([.. Enumerable.Range(0, 2500).Select(i => Records.Titration(i))]);
        var paged = new List<long>();
        while (store.Historian.ReadRecords(paged.LastOrDefault(), 1100) is { Count: > 0 } page)
        {
            paged.AddRange(page.Select(r => r.Number));
        }

        Assert.Equal(Enumerable.Range(1, 2500).Select(i => (long)i), paged);
        var check = store.Historian.VerifyRecords(cancellation: TestContext.Current.CancellationToken);
        Assert.Equal((2500, 1, 2500, true), ((int)check.Count, (int)check.First!.Number, (int)check.Last!.Number, check.IsWhole));
    }

    [Fact]
    public void What_is_written_down_of_the_head_can_be_read_back()
    {
        var head = new RecordHead(12, new string('a', 64));
        Assert.True(RecordHead.TryParse(head.ToString(), out var read));
        Assert.Equal(head, read);
        Assert.True(RecordHead.TryParse($" 12:{new string('A', 64)} ", out read));
        Assert.Equal(head, read);
        foreach (var wrong in new[] { null, "", "12", "12:", $"0:{new string('a', 64)}", $"-1:{new string('a', 64)}", $"12:{new string('g', 64)}", $"12:{new string('a', 63)}", $"1:2:{new string('a', 64)}" })
        {
            Assert.False(RecordHead.TryParse(wrong, out _), wrong);
        }
    }

    private static List<string> Texts(IEnumerable<RecordEntry> records) => [.. records.Select(r => $"{r.Number} {r.Sequence} {r.Hash} {WashJson.Write(r.Event)}")];

    private static List<string> Texts(IEnumerable<KegEntry> entries) => [.. entries.Select(e => $"{e.Number} {e.Sequence} {WashJson.Write(e.Event)}")];

    /// <summary>Files and exports that older programs wrote have neither who entered a record nor when.</summary>
    [Theory]
    [InlineData("{\"kind\":\"keg-scanned\",\"station\":1,\"kegId\":\"K-1\",\"id\":\"a\",\"washer\":\"w1\",\"at\":{\"earliest\":\"2031-03-05T08:00:00.000000Z\",\"latest\":\"2031-03-05T08:00:00.000000Z\",\"width\":\"00:00:00\"}}", "")]
    [InlineData("{\"kind\":\"maintenance-recorded\",\"component\":{\"kind\":\"DrainValve\",\"of\":\"\",\"station\":2},\"work\":\"Replaced\",\"by\":\"T. Ester\",\"note\":\"\",\"hadFailed\":false,\"id\":\"a\",\"washer\":\"w1\",\"at\":{\"earliest\":\"2031-03-05T08:00:00.000000Z\",\"latest\":\"2031-03-05T08:00:00.000000Z\",\"width\":\"00:00:00\"}}", "T. Ester")]
    [InlineData("{\"kind\":\"alarm-ordered\",\"order\":{\"alarm\":\"heater\",\"kind\":\"Acknowledge\",\"by\":\"T. Ester\",\"reason\":\"\"},\"id\":\"a\",\"washer\":\"w1\",\"at\":{\"earliest\":\"2031-03-05T08:00:00.000000Z\",\"latest\":\"2031-03-05T08:00:00.000000Z\",\"width\":\"00:00:00\"}}", "T. Ester")]
    public void What_an_older_program_wrote_comes_back_to_the_byte(string json, string by)
    {
        var read = WashJson.ReadEvent(json);
        Assert.Equal(json, WashJson.Write(read));
        Assert.Equal(new Act { By = by }, ((IRecord)read).Act);
    }
}
