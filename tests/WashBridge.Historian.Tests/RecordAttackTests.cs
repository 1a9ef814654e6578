using CsCheck;
using Microsoft.Data.Sqlite;

namespace WashBridge.Historian.Tests;

/// <summary>What somebody could do who can write the file, and what the check says of it. RECORDS.md has the list for people.</summary>
public sealed class RecordAttackTests
{
    private static readonly Dictionary<string, (Action<SqliteConnection> Do, RecordBreakKind Kind, long? Number)> Attacks = new()
    {
        ["a record changed"] = (c => ChainFile.Run(c, "UPDATE events SET body = replace(body, '\"strength\":2', '\"strength\":9') WHERE seq = 10"), RecordBreakKind.Changed, 4),
        ["a record changed, and its checksum made right"] = (c => ChainFile.Edit(c, 4), RecordBreakKind.Changed, 4),
        ["a record changed, and its own hash made anew"] = (c => { ChainFile.Edit(c, 4); ChainFile.Rechain(c, 4, 4); }, RecordBreakKind.Unlinked, 5),
        ["who did it changed"] = (c => ChainFile.Write(c, 4, ChainFile.RecordText(c, 4).Replace("T. Ester 4", "A. Nother", StringComparison.Ordinal)), RecordBreakKind.Changed, 4),
        ["the first record changed"] = (c => ChainFile.Edit(c, 1), RecordBreakKind.Changed, 1),
        ["the last record changed"] = (c => ChainFile.Edit(c, 8), RecordBreakKind.Changed, 8),
        ["a record deleted from the log"] = (c => ChainFile.Run(c, "DELETE FROM events WHERE seq = 10"), RecordBreakKind.WithoutEvent, 4),
        ["a record deleted from the chain"] = (c => ChainFile.Run(c, "DELETE FROM records WHERE number = 4"), RecordBreakKind.Missing, 5),
        ["the last record deleted from the chain"] = (c => ChainFile.Run(c, "DELETE FROM records WHERE number = 8"), RecordBreakKind.WithoutNumber, null),
        ["a record deleted from log and chain"] = (c => ChainFile.Run(c, "DELETE FROM records WHERE number = 4; DELETE FROM events WHERE seq = 10"), RecordBreakKind.Missing, 5),
        ["the first record deleted from log and chain"] = (c => ChainFile.Run(c, "DELETE FROM records WHERE number = 1; DELETE FROM events WHERE seq = 1"), RecordBreakKind.Missing, 2),
        ["a record deleted, and the numbers closed up"] = (
            c => ChainFile.Run(c, "DELETE FROM records WHERE number = 4; DELETE FROM events WHERE seq = 10; UPDATE records SET number = -number WHERE number > 4; UPDATE records SET number = -number - 1 WHERE number < 0"),
            RecordBreakKind.Unlinked, 4),
        ["two records exchanged in the log"] = (
            c =>
            {
                var (three, six) = (ChainFile.RecordText(c, 3), ChainFile.RecordText(c, 6));
                ChainFile.Write(c, 3, six);
                ChainFile.Write(c, 6, three);
            },
            RecordBreakKind.Changed, 3),
        ["two records exchanged in the chain"] = (
            c => ChainFile.Run(c, "UPDATE records SET event = -event WHERE number IN (3, 6); UPDATE records SET event = iif(number = 3, 16, 7) WHERE number IN (3, 6)"), RecordBreakKind.Changed, 3),
        ["a record moved to another place in the log"] = (c => ChainFile.Run(c, "UPDATE events SET seq = 1000 WHERE seq = 10; UPDATE records SET event = 1000 WHERE number = 4"), RecordBreakKind.Changed, 4),
        ["a record put in beside the program"] = (
            c => ChainFile.Run(c, "INSERT INTO events SELECT 1000, 'forged', kind, washer, cycle, t_earliest, t_latest, replace(body, id, 'forged'), checksum FROM events WHERE seq = 10"), RecordBreakKind.WithoutNumber, null),
        ["a record filed under another kind"] = (c => ChainFile.Run(c, "UPDATE events SET kind = 'time-passed' WHERE seq = 10"), RecordBreakKind.Misfiled, 4),
        ["a record filed under another time"] = (c => ChainFile.Run(c, "UPDATE events SET t_latest = t_latest - 86400000000 WHERE seq = 10"), RecordBreakKind.Misfiled, 4),
        ["a record filed under another washer"] = (c => ChainFile.Run(c, "INSERT INTO washers VALUES(99, 'w9', 0); UPDATE events SET washer = 99 WHERE seq = 10"), RecordBreakKind.Misfiled, 4),
        ["a record filed under a cycle"] = (c => ChainFile.Run(c, "UPDATE events SET cycle = 'c1' WHERE seq = 10"), RecordBreakKind.Misfiled, 4),
        ["a record filed under another id"] = (c => ChainFile.Run(c, "UPDATE events SET id = 'other' WHERE seq = 10"), RecordBreakKind.Changed, 4),
        ["a checksum spoilt, so that readers leave the record out"] = (c => ChainFile.Run(c, "UPDATE events SET checksum = checksum + 1 WHERE seq = 10"), RecordBreakKind.Misfiled, 4),
        ["all records deleted from the chain"] = (c => ChainFile.Run(c, "DELETE FROM records"), RecordBreakKind.WithoutNumber, null),
        ["a record numbered zero"] = (c => ChainFile.Run(c, "INSERT INTO records SELECT 0, 2, previous, hash FROM records WHERE number = 1"), RecordBreakKind.Missing, 0),
    };

    public static TheoryData<string> Names() => [.. Attacks.Keys];

    [Theory]
    [MemberData(nameof(Names))]
    public void Tampering_is_found_at_its_record(string attack)
    {
        using var file = new ChainFile(8);
        var (tamper, kind, number) = Attacks[attack];
        var check = file.After(tamper);
        Assert.False(check.IsWhole);
        Assert.Equal((kind, number), (check.Breaks[0].Kind, check.Breaks[0].Number));
    }

    [Fact]
    public void One_change_is_one_break_with_who_and_when_not_all_that_follows()
    {
        using var file = new ChainFile(8);
        var found = Assert.Single(file.After(c => ChainFile.Edit(c, 4)).Breaks);
        Assert.Equal((4, 10, "T. Ester 4", Store.At(4)), ((int)found.Number!, (int)found.Sequence!, found.By, found.At!.Value.Latest));
        Assert.Equal("what it says does not fit its hash: it was changed, or another was put in its place", found.Problem);
    }

    /// <summary>What is filed under a harmless kind is no record to the chain; the check of all stored data finds it.</summary>
    [Fact]
    public void A_forged_record_that_is_filed_as_something_else_is_found_by_the_check_of_all_data()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Records.Titration(1)]);
        store.Close();
        var body = store.Sql("SELECT replace(body, 'w1/titration/1', 'forged') FROM events WHERE seq = 1") as string ?? "";
        store.Sql(
            "INSERT INTO events SELECT 2, 'forged', 'time-passed', washer, cycle, t_earliest, t_latest, $b, $c FROM events WHERE seq = 1",
            ("$b", body), ("$c", Encoding.Checksum.Of(System.Text.Encoding.UTF8.GetBytes(body))));
        using var reader = store.Reader();
        Assert.True(reader.VerifyRecords(cancellation: TestContext.Current.CancellationToken).IsWhole);
        Assert.Equal("it is filed as time-passed, but is titration-recorded", Assert.Single(reader.Verify(cancellation: TestContext.Current.CancellationToken)).Problem);
    }

    /// <summary>These three fit in themselves: nobody can see them who has not written down a head.</summary>
    [Fact]
    public void What_was_cut_off_or_made_anew_is_found_only_by_a_head_that_was_written_down()
    {
        using var file = new ChainFile(8);
        Action<SqliteConnection> cut = c => ChainFile.Run(c, "DELETE FROM records WHERE number >= 7; DELETE FROM events WHERE seq >= 19");
        Assert.True(file.After(cut).IsWhole);
        var cutOff = Assert.Single(file.After(cut, file.Head).Breaks);
        Assert.Equal((RecordBreakKind.CutOff, 8, "the chain ends with record 6, but record 8 was written down: records were cut off"), (cutOff.Kind, (int)cutOff.Number!, cutOff.Problem));

        Action<SqliteConnection> anew = c =>
        {
            ChainFile.Edit(c, 4);
            ChainFile.Rechain(c, 4, 8);
        };
        Assert.True(file.After(anew).IsWhole);
        var remade = Assert.Single(file.After(anew, file.Head).Breaks);
        Assert.Equal((RecordBreakKind.Remade, 8), (remade.Kind, (int)remade.Number!));

        Action<SqliteConnection> emptied = c => ChainFile.Run(c, "DELETE FROM records; DELETE FROM events");
        Assert.True(file.After(emptied).IsWhole);
        Assert.Equal(RecordBreakKind.CutOff, Assert.Single(file.After(emptied, file.Head).Breaks).Kind);
    }

    /// <summary>A head proves what lies before it, and says nothing of what came after.</summary>
    [Fact]
    public void A_head_that_was_written_down_earlier_still_holds_while_the_chain_grows()
    {
        using var file = new ChainFile(8);
        using var other = new ChainFile(5);
        Assert.True(file.After(_ => { }, file.Head).IsWhole);
        Assert.True(file.After(_ => { }, other.Head).IsWhole);
        Assert.False(file.After(_ => { }, other.Head with { Hash = file.Head.Hash }).IsWhole);
    }

    /// <summary>Any byte of any record, at any place, whatever else fits.</summary>
    [Fact]
    public void Any_change_of_any_byte_of_a_record_is_found_at_that_record()
    {
        using var file = new ChainFile(9);
        Gen.Select(Gen.Int[1, 9], Gen.Int[0, 100_000], Gen.Int[1, 255], Gen.Bool).Sample(
            (number, at, change, mend) =>
            {
                var check = file.After(c =>
                {
                    var body = ChainFile.Bytes(c, "body", "events WHERE seq", ChainFile.SequenceOf(number));
                    body[at % body.Length] ^= (byte)change;
                    ChainFile.Run(c, "UPDATE events SET body = CAST($b AS TEXT) WHERE seq = $s", ("$b", body), ("$s", ChainFile.SequenceOf(number)));
                    if (mend)
                    {
                        ChainFile.Run(c, "UPDATE events SET checksum = $c WHERE seq = $s", ("$c", Encoding.Checksum.Of(body)), ("$s", ChainFile.SequenceOf(number)));
                    }
                });
                Assert.Equal((RecordBreakKind.Changed, number), (check.Breaks[0].Kind, (int)check.Breaks[0].Number!));
                Assert.Equal(1, check.BreaksFound);
            },
            iter: 150,
            threads: 1);
    }

    [Fact]
    public void Any_change_of_the_chain_itself_is_found_at_that_record()
    {
        using var file = new ChainFile(9);
        Gen.Select(Gen.Int[1, 9], Gen.Int[0, 31], Gen.Int[1, 255], Gen.Bool).Sample(
            (number, at, change, ofPrevious) =>
            {
                var column = ofPrevious ? "previous" : "hash";
                var check = file.After(c =>
                {
                    var hash = ChainFile.Bytes(c, column, "records WHERE number", number);
                    hash[at] ^= (byte)change;
                    ChainFile.Run(c, $"UPDATE records SET {column} = $h WHERE number = $n", ("$h", hash), ("$n", number));
                });
                Assert.Equal(number, check.Breaks[0].Number);
            },
            iter: 100,
            threads: 1);
    }

    /// <summary>However many are deleted, exchanged or put elsewhere, the first break is at the first of them or right behind it.</summary>
    [Fact]
    public void Any_removal_or_exchange_is_found_where_it_begins()
    {
        using var file = new ChainFile(9);
        Gen.Select(Gen.Int[1, 9].HashSet[1, 4], Gen.Int[0, 2]).Sample(
            (chosen, what) =>
            {
                var numbers = chosen.Order().ToList();
                if (what == 2 && numbers.Count < 2)
                {
                    return;
                }

                var check = file.After(c =>
                {
                    if (what == 2)
                    {
                        var texts = numbers.ConvertAll(n => ChainFile.RecordText(c, n));
                        for (var i = 0; i < numbers.Count; i++)
                        {
                            ChainFile.Write(c, numbers[i], texts[(i + 1) % texts.Count]);
                        }

                        return;
                    }

                    foreach (var number in numbers)
                    {
                        ChainFile.Run(c, "DELETE FROM events WHERE seq = $s", ("$s", ChainFile.SequenceOf(number)));
                        if (what == 1)
                        {
                            ChainFile.Run(c, "DELETE FROM records WHERE number = $n", ("$n", number));
                        }
                    }
                }, file.Head);
                Assert.False(check.IsWhole);
                var after = numbers[0];
                while (what == 1 && numbers.Contains(after))
                {
                    after++;
                }

                // Where all up to the end are gone, the head that was written down tells it.
                Assert.Equal(Math.Min(after, file.Count), check.Breaks[0].Number);
            },
            iter: 100,
            threads: 1);
    }
}
