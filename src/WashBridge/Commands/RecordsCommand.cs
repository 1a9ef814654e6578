using System.CommandLine;
using WashBridge.Checking;
using WashBridge.Core;
using WashBridge.Core.Records;
using WashBridge.Orders;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Lists records, and corrects one by a further record.</summary>
internal static class RecordsCommand
{
    private const int PageRecords = 1000;

    public static Command Create(TimeProvider time) => new("records", "Lists what people recorded (list), or corrects a record by a further one (correct).") { List(), Correct(time) };

    private static Command List()
    {
        var store = new Argument<FileInfo>("store") { Description = "The historian's file; it is only read." };
        var period = new PeriodOptions();
        var by = new Option<string?>("--by") { Description = "Only what this person recorded." };
        var kind = new Option<string?>("--kind") { Description = $"Only records of this kind: {string.Join(", ", WashJson.RecordKinds)}." };
        kind.AcceptOnlyFromAmong([.. WashJson.RecordKinds]);
        var json = new Option<bool>("--json") { Description = "One JSON object a line: number, hash and the record." };
        var command = new Command("list", """
            Lists records with who, when and why, in the order in which they were entered. What was corrected shows both.

            Example: washbridge records list plant.washdb --from 2031-03-05T00:00:00+01:00 --by "T. Ester"
            """) { store, by, kind, json };
        period.AddPeriodTo(command);
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            var file = parsed.GetValue(store)!;
            if (period.Zone(parsed, errors) is not { } zone)
            {
                return ExitCodes.ConfigurationErrors;
            }

            if (!file.Exists)
            {
                errors.WriteLine($"{file.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
                return ExitCodes.ConfigurationErrors;
            }

            using var historian = Historian.Historian.OpenReader(file.FullName);
            var (from, until, washer, person, only) = (parsed.GetValue(period.From), parsed.GetValue(period.Until), parsed.GetValue(period.Washer), parsed.GetValue(by), parsed.GetValue(kind));
            var chosen = All(historian).Where(r => Entered(r) is var at && !(at < from) && !(at >= until) && (washer is null || r.Event.Washer == washer)
                && (person is null || r.Act.By == person) && (only is null || WashJson.KindOf(r.Event) == only));
            if (parsed.GetValue(json))
            {
                foreach (var record in chosen)
                {
                    output.WriteLine($"{{\"number\":{record.Number},\"hash\":\"{record.Hash}\",\"record\":{WashJson.Write(record.Event)}}}");
                }

                return ExitCodes.Success;
            }

            Print([.. chosen], All(historian).Select(r => r.Event).OfType<RecordCorrected>().ToLookup(c => c.Number), zone, output);
            return ExitCodes.Success;
        });
        return command;
    }

    private static void Print(IReadOnlyList<RecordEntry> records, ILookup<long, RecordCorrected> corrections, TimeZoneInfo zone, TextWriter output)
    {
        var table = new TextTable("record", "entered", "washer", "what", "who", "why") { Unbroken = ["record", "entered"] };
        foreach (var record in records)
        {
            var corrected = corrections.Contains(record.Number) && Corrections.TryApply(record.Event, corrections[record.Number]) is { } now ? $" [corrected: {RecordWords.What(now)}]" : "";
            table.Add($"{record.Number}", RecordWords.Time(Entered(record), zone), record.Event.Washer, RecordWords.What(record.Event) + corrected, RecordWords.Who(record.Act), record.Act.Reason);
        }

        table.Write(output, Terminal.Of(output));
        output.WriteLine();
        output.WriteLine($"{records.Count:N0} records. Whether they are whole: washbridge verify.");
    }

    private static Command Correct(TimeProvider time)
    {
        var options = new OrderOptions();
        var number = new Argument<long>("number") { Description = "Number of the record, as `records list` shows it." }.Within(1, long.MaxValue);
        var field = new Argument<string>("field") { Description = "The field's name in its JSON, such as strength." };
        var value = new Argument<string?>("value") { Description = "What it should say; without it: nothing.", Arity = ArgumentArity.ZeroOrOne };
        var reason = new Option<string>("--reason") { Description = "Why.", Required = true };
        var command = new Command("correct", """
            Corrects a field of a record. The record stays as it was; the correction is a record of its own, and readers show both.

            Example: washbridge records correct plant.washdb 12 strength 2.1 --by "T. Ester" --reason "slip of the pen"
            """) { options.Store, number, field, value, reason };
        options.AddTo(command, withWasher: false);
        command.SetAction(async (parsed, cancellation) =>
        {
            if (options.Delivery(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldCorrection(parsed.GetValue(number), parsed.GetValue(field), parsed.GetValue(value), parsed.GetValue(options.By), parsed.GetValue(reason));
            return await delivery.BringAsync(Endpoints.Corrections, told, (historian, now) => Telling.Correction(told, historian, now, Teller.Command), time, cancellation);
        });
        return command;
    }

    private static Core.Time.Instant Entered(RecordEntry record) => record.Act.Entered ?? record.Event.At.Latest;

    private static IEnumerable<RecordEntry> All(Historian.IHistorianReader historian)
    {
        for (var after = 0L; historian.ReadRecords(after, PageRecords) is { Count: > 0 } page; after = page[^1].Number)
        {
            foreach (var record in page)
            {
                yield return record;
            }
        }
    }
}
