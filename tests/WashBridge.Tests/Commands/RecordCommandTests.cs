using System.CommandLine;
using Microsoft.Data.Sqlite;
using WashBridge.Commands;
using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Tests.Orders;

namespace WashBridge.Tests.Commands;

public sealed class RecordCommandTests : IDisposable
{
    private readonly RecordStore _store = new();

    public void Dispose() => _store.Dispose();

    [Fact]
    public void A_whole_chain_is_told_with_its_head_also_while_a_service_writes()
    {
        Fill(3);
        var head = _store.Historian.RecordHead!;
        var (code, output, _) = Run(VerifyCommand.Create(), _store.Path, "--zone", "Europe/Vienna");
        Assert.Equal(ExitCodes.Success, code);
        Assert.StartsWith("Records: 3\nFirst: 1, 2031-03-05 09:00:01 +01:00, T. Ester: caustic titrated: 1 %\nLast: 3, ", output, StringComparison.Ordinal);
        Assert.Contains("only with --head", output, StringComparison.Ordinal);
        Assert.EndsWith($"Head, to be written down elsewhere: {head}\n", output, StringComparison.Ordinal);

        Fill(1);
        (code, output, _) = Run(VerifyCommand.Create(), _store.Path, "--head", head.ToString(), "--all");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("record 3 is the one whose hash was written down", output, StringComparison.Ordinal);
        Assert.EndsWith("Stored data: all of it matches its checksums.\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_break_is_told_with_number_time_who_and_what_does_not_fit()
    {
        Fill(3);
        var head = _store.Historian.RecordHead!;
        _store.Close();
        Sql("UPDATE events SET body = replace(body, '\"strength\":2', '\"strength\":9') WHERE seq = 2");
        var (code, output, _) = Run(VerifyCommand.Create(), _store.Path, "--all");
        Assert.Equal(ExitCodes.Failure, code);
        Assert.Contains("The chain BREAKS in 1 place:\n  record 2, 2031-03-05 08:00:02 +00:00, T. Ester: what it says does not fit its hash", output, StringComparison.Ordinal);
        Assert.Contains("Stored data: 1 places are damaged.\n  event 2: the checksum does not match", output, StringComparison.Ordinal);

        Sql("DELETE FROM records WHERE number > 1; DELETE FROM events WHERE seq > 1");
        Assert.Equal(ExitCodes.Success, Run(VerifyCommand.Create(), _store.Path).Code);
        (code, output, _) = Run(VerifyCommand.Create(), _store.Path, "--head", head.ToString());
        Assert.Equal(ExitCodes.Failure, code);
        Assert.Contains("record 3: the chain ends with record 1, but record 3 was written down: records were cut off", output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_store_without_records_is_whole_and_says_so()
    {
        var (code, output, _) = Run(VerifyCommand.Create(), _store.Path);
        Assert.Equal((ExitCodes.Success, "Records: 0\nThere is no record yet.\n"), (code, output));
    }

    [Theory]
    [InlineData("--head: found '12'; allowed: NUMBER:HASH", "a.washdb", "--head", "12")]
    [InlineData("--zone Nowhere: unknown", "a.washdb", "--zone", "Nowhere")]
    public void What_is_wrong_on_the_command_line_is_told(string message, string file, params string[] arguments)
    {
        var (code, _, errors) = Run(VerifyCommand.Create(), [Path.Combine(Path.GetDirectoryName(_store.Path)!, file), .. arguments]);
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.StartsWith(message, errors, StringComparison.Ordinal);
    }

    [Fact]
    public void A_keg_is_decided_about_and_its_history_shown()
    {
        _store.Washed("K-1", verdict: Verdict.NotMet).Told(new ToldInspection("K-1", "spear-pull", "failed", "film on the wall", "T. Ester"));
        _store.Close();
        Assert.Equal(ExitCodes.Success, Run(KegCommand.Create(_store.Time), _store.Path, "K-1", "hold", "--by", "T. Ester", "--reason", "film").Code);
        var (code, _, errors) = Run(KegCommand.Create(_store.Time), _store.Path, "K-1", "hold", "--by", "T. Ester", "--reason", "film");
        Assert.Equal((ExitCodes.ConfigurationErrors, "K-1 is held already\n"), (code, errors));
        Assert.Equal("by: found nothing; who did it must be named, in 1 to 64 characters without control characters\n", Run(KegCommand.Create(_store.Time), _store.Path, "K-1", "rewash", "--reason", "film").Errors);

        var (_, output, _) = Run(KegCommand.Create(_store.Time), _store.Path, "K-1");
        Assert.StartsWith("Keg K-1: held; last verdict not met\n", output, StringComparison.Ordinal);
        Assert.Contains("washed at station 2: not met (recipe standard 1), cycle c1", output, StringComparison.Ordinal);
        Assert.Contains("keg K-1 spear pulled: did not pass, film on the wall", output, StringComparison.Ordinal);
        Assert.Matches(@"\n2 +2031-03-05 08:00:01 \+00:00 +keg K-1: held, verdict not met +T\. Ester \(by command\) +film\n", output);
        Assert.Contains("sanitiser dwell: not met, held 44.5 s, 45 s asked for", output, StringComparison.Ordinal);
        Assert.StartsWith("Nothing is known of keg K-2", Run(KegCommand.Create(_store.Time), _store.Path, "K-2").Output, StringComparison.Ordinal);
    }

    /// <summary>
    /// Whoever may write the file is trusted by the operating system: no role is asked for and none is claimed. Reasons and rules hold all the same.
    /// </summary>
    [Fact]
    public void What_a_command_writes_itself_has_the_given_name_and_no_role_and_is_shown_as_such()
    {
        _store.Washed("K-1", verdict: Verdict.NotMet);
        _store.Close();
        Assert.StartsWith("reason: found nothing", Run(KegCommand.Create(_store.Time), _store.Path, "K-1", "release", "--by", "L. Ine").Errors, StringComparison.Ordinal);
        Assert.Equal(ExitCodes.Success, Run(KegCommand.Create(_store.Time), _store.Path, "K-1", "release", "--by", "L. Ine", "--reason", "seen by two").Code);
        using var reader = Historian.Historian.OpenReader(_store.Path);
        var decided = Assert.IsType<KegDecided>(Assert.Single(reader.ReadRecords(0, 10)).Event);
        Assert.Equal(("L. Ine", null, Means.Command, _store.Now), (decided.Act.By, decided.Act.Role, decided.Act.Means, decided.Act.Entered!.Value.ToDateTimeOffset()));
        Assert.Contains("L. Ine (by command)", Run(KegCommand.Create(_store.Time), _store.Path, "K-1").Output, StringComparison.Ordinal);
        Assert.Contains("L. Ine (by command)", Run(RecordsCommand.Create(_store.Time), "list", _store.Path).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_store_of_an_older_version_says_what_to_do_and_is_brought_up_to_date_when_asked()
    {
        Fill(2);
        var head = _store.Historian.RecordHead!;
        _store.Close();
        Sql("DROP TABLE records; DROP TABLE kegs; PRAGMA user_version = 2");
        var old = Assert.Throws<HistorianException>(() => Historian.Historian.OpenReader(_store.Path));
        Assert.Equal($"historian '{_store.Path}': the file is of version 2, this program reads version 4, and reading changes nothing: it must be opened for writing once.\nKeep a copy, which an older program can still read; then: washbridge verify {_store.Path} --upgrade", StoreAdvice.For(old));
        var (code, output, _) = Run(VerifyCommand.Create(), _store.Path, "--upgrade", "--head", $"{head}");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("record 2 is the one whose hash was written down", output, StringComparison.Ordinal);
        Assert.Equal(ExitCodes.Success, Run(VerifyCommand.Create(), _store.Path).Code);
    }

    [Fact]
    public void Records_are_listed_and_corrected_and_the_list_shows_both()
    {
        Fill(2);
        _store.Close();
        Assert.Equal(ExitCodes.Success, Run(RecordsCommand.Create(_store.Time), "correct", _store.Path, "2", "strength", "1.2", "--by", "T. Ester", "--reason", "slip").Code);
        var (_, output, _) = Run(RecordsCommand.Create(_store.Time), "list", _store.Path);
        Assert.Contains("caustic titrated: 2 % [corrected: caustic titrated: 1.2 %]", output, StringComparison.Ordinal);
        Assert.Contains("3 records.", output, StringComparison.Ordinal);
        Assert.Contains("1 records.", Run(RecordsCommand.Create(_store.Time), "list", _store.Path, "--kind", "record-corrected").Output, StringComparison.Ordinal);
        Assert.Contains("0 records.", Run(RecordsCommand.Create(_store.Time), "list", _store.Path, "--by", "Nobody").Output, StringComparison.Ordinal);
        Assert.Contains("2 records.", Run(RecordsCommand.Create(_store.Time), "list", _store.Path, "--from", "2031-03-05T08:00:02Z").Output, StringComparison.Ordinal);
        var json = Run(RecordsCommand.Create(_store.Time), "list", _store.Path, "--json").Output.TrimEnd().Split('\n');
        Assert.Equal(3, json.Length);
        Assert.All(json, line => System.Text.Json.JsonDocument.Parse(line).Dispose());
    }

    [Fact]
    public void Baths_and_inspections_are_recorded_by_command()
    {
        _store.Washed("K-1");
        _store.Historian.AppendFrames([new Core.Signals.Frame { Washer = "north", Group = 0, Kind = Core.Signals.FrameKind.Full, Read = default, Samples = [new Core.Signals.Sample(new Core.Signals.Signal("north", 0, "temperature.caustic", "Cel", Core.Signals.SignalType.Quantity), new Core.Signals.SignalValue(60), Core.Signals.Quality.Good, default)] }]);
        _store.Close();
        Assert.Equal(ExitCodes.Success, Run(BathCommand.Create(_store.Time), "titrate", _store.Path, "caustic", "2.1", "--by", "T. Ester").Code);
        Assert.Equal(ExitCodes.Success, Run(BathCommand.Create(_store.Time), "change", _store.Path, "caustic", "--by", "T. Ester").Code);
        Assert.Equal(ExitCodes.Success, Run(InspectCommand.Create(_store.Time), _store.Path, "K-1", "passed", "--found", "clean", "--by", "T. Ester").Code);
        using var reader = Historian.Historian.OpenReader(_store.Path);
        Assert.Equal(["titration-recorded", "bath-changed", "keg-inspected"], reader.ReadRecords(0, 10).Select(r => Core.WashJson.KindOf(r.Event)));
        Assert.All(reader.ReadRecords(0, 10), r => Assert.Equal(Means.Command, r.Act.Means));
    }

    private static (int Code, string Output, string Errors) Run(Command command, params string[] arguments)
    {
        var (output, errors) = (new StringWriter { NewLine = "\n" }, new StringWriter { NewLine = "\n" });
        var code = command.Parse(arguments).Invoke(new InvocationConfiguration { Output = output, Error = errors });
        return (code, output.ToString(), errors.ToString());
    }

    private void Fill(int titrations)
    {
        for (var i = 1; i <= titrations; i++)
        {
            _store.Told(new ToldTitration("north", "caustic", i, "%", "T. Ester"));
        }
    }

    private void Sql(string sql)
    {
        using var connection = new SqliteConnection($"Data Source={_store.Path};Pooling=False");
        connection.Open();
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The SQL of these tests only.
        command.CommandText = sql;
#pragma warning restore CA2100
        command.ExecuteNonQuery();
    }
}
