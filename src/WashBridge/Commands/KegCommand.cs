using System.CommandLine;
using WashBridge.Checking;
using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;
using WashBridge.Orders;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Everything that is known of a keg, and a decision about it.</summary>
internal static class KegCommand
{
    public static Command Create(TimeProvider time)
    {
        var options = new OrderOptions();
        options.By.Required = false;
        var keg = new Argument<string>("keg") { Description = "The keg's id." };
        var decision = new Argument<string?>("decision") { Description = "hold, release or rewash; without it, all that is known of the keg is shown.", Arity = ArgumentArity.ZeroOrOne };
        decision.AcceptOnlyFromAmong([.. Telling.Decisions]);
        var reason = new Option<string?>("--reason") { Description = "Why; may be left out only where a keg is released whose verdict is met." };
        var zone = new ZoneOption();
        var command = new Command("keg", """
            Shows all that is known of a keg: scans, washings with their verdicts, inspections, decisions, corrections. Or decides about it: hold, release, rewash.

            Examples:
              washbridge keg plant.washdb K-0042
              washbridge keg plant.washdb K-0042 hold --by "T. Ester" --reason "valve leaks"
            """) { options.Store, keg, decision, reason, zone.Name };
        options.AddTo(command, withWasher: false);
        command.SetAction(async (parsed, cancellation) =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (parsed.GetValue(decision) is not { } decided)
            {
                return Show(parsed.GetValue(options.Store)!, parsed.GetValue(keg)!.Trim(), zone.Zone(parsed, errors), output, errors);
            }

            if (options.Delivery(parsed, output, errors) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldDecision(parsed.GetValue(keg), decided, parsed.GetValue(options.By), parsed.GetValue(reason));
            return await delivery.BringAsync(Endpoints.KegDecisions, told, (historian, now) => Telling.Decision(told, historian, now, Teller.Command), time, cancellation);
        });
        return command;
    }

    private static int Show(FileInfo store, string kegId, TimeZoneInfo? zone, TextWriter output, TextWriter errors)
    {
        if (zone is null)
        {
            return ExitCodes.ConfigurationErrors;
        }

        if (!store.Exists)
        {
            errors.WriteLine($"{store.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
            return ExitCodes.ConfigurationErrors;
        }

        using var historian = Historian.Historian.OpenReader(store.FullName);
        var file = Telling.File(historian, kegId);
        if (file.Entries.Count == 0)
        {
            output.WriteLine($"Nothing is known of keg {kegId}: never scanned, washed or recorded under this id.");
            return ExitCodes.Success;
        }

        output.WriteLine($"Keg {kegId}: {RecordWords.Of(file.Standing)}{(file.LastWash is { } wash ? $"; last verdict {Words.Of(wash.Verdict)}" : "")}");
        output.WriteLine();
        var table = new TextTable("record", "when", "what", "who", "why") { Unbroken = ["record", "when"] };
        foreach (var entry in file.Entries)
        {
            var act = (entry.Event as IRecord)?.Act;
            var corrected = entry.Corrected is { } now ? $" [corrected: {RecordWords.What(now)}]" : "";
            table.Add($"{entry.Number}", RecordWords.Time(entry.Event.At.Latest, zone), RecordWords.What(entry.Event) + corrected, act is null ? "" : RecordWords.Who(act), act?.Reason ?? "");
        }

        table.Write(output, Terminal.Of(output));
        foreach (var result in file.LastWash?.Judged.Verdict.Results.Where(r => r.Verdict != Verdict.Met) ?? [])
        {
            output.WriteLine($"{result.Requirement}: {Words.Of(result.Verdict)}, {result.Evidence}");
        }

        output.WriteLine();
        output.WriteLine(Words.Claim);
        return ExitCodes.Success;
    }
}
