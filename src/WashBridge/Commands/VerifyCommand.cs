using System.CommandLine;
using Spectre.Console;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Recomputes the chain of records and says where it breaks; also of a historian that a service is writing to.</summary>
internal static class VerifyCommand
{
    public static Command Create()
    {
        var store = new Argument<FileInfo>("store") { Description = "The historian's file; it is only read, unless --upgrade is given." };
        var head = new Option<string?>("--head") { Description = "The head that was written down earlier, NUMBER:HASH. Without it nobody can see that the end was cut off, or all of it made anew." };
        var all = new Option<bool>("--all") { Description = "Check all stored data against their checksums besides." };
        var upgrade = new Option<bool>("--upgrade") { Description = "Bring a file of an older version up to date first. This writes to it, and an older program cannot read it afterwards: keep a copy." };
        var zone = new ZoneOption();
        var command = new Command("verify", """
            Recomputes the chain of records, says where it breaks, and prints its head: write that down where nobody can reach it who can write the file.

            Examples:
              washbridge verify plant.washdb
              washbridge verify plant.washdb --head 1204:9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08 --all
            Exit codes: 0 all is whole; 1 the command line is wrong; 3 the historian cannot be read; 4 the chain breaks or stored data is damaged.
            """) { store, head, all, upgrade, zone.Name };
        command.SetAction((parsed, cancellation) =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            return Task.FromResult(Run(parsed.GetValue(store)!, parsed.GetValue(head), parsed.GetValue(all), parsed.GetValue(upgrade), zone.Zone(parsed, errors), output, errors, cancellation));
        });
        return command;
    }

    private static int Run(FileInfo store, string? head, bool all, bool upgrade, TimeZoneInfo? zone, TextWriter output, TextWriter errors, CancellationToken cancellation)
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

        RecordHead? expected = null;
        if (head is not null && !RecordHead.TryParse(head, out expected))
        {
            errors.WriteLine($"--head: found '{head}'; allowed: NUMBER:HASH as this command prints it, the hash with 64 hexadecimal digits");
            return ExitCodes.ConfigurationErrors;
        }

        if (upgrade)
        {
            using var opened = Historian.Historian.Open(store.FullName, new HistorianOptions(), TimeProvider.System);
            output.WriteLine(opened.Upgrade ?? $"{store.FullName}: is of this program's version already.");
        }

        using var historian = Historian.Historian.OpenReader(store.FullName);
        RecordCheck? check = null;
        IReadOnlyList<Damage> damage = [];
        WithProgress(Terminal.Of(output), start =>
        {
            check = historian.VerifyRecords(expected, start("checking records"), cancellation);
            damage = all ? historian.Verify(start("checking stored data"), cancellation) : [];
        });
        Print(check!, expected, zone, output);
        if (all)
        {
            output.WriteLine(damage.Count == 0 ? "Stored data: all of it matches its checksums." : $"Stored data: {damage.Count} places are damaged.");
            foreach (var each in damage)
            {
                output.WriteLine($"  {each}");
            }
        }

        return check!.IsWhole && damage.Count == 0 ? ExitCodes.Success : ExitCodes.Failure;
    }

    private static void Print(RecordCheck check, RecordHead? expected, TimeZoneInfo zone, TextWriter output)
    {
        output.WriteLine($"Records: {check.Count:N0}");
        foreach (var (name, entry) in new[] { ("First", check.First), ("Last", check.Last) })
        {
            if (entry is not null)
            {
                output.WriteLine($"{name}: {entry.Number}, {RecordWords.Time(entry.Act.Entered ?? entry.Event.At.Latest, zone)}, {RecordWords.Who(entry.Act)}: {RecordWords.What(entry.Event)}");
            }
        }

        if (check.IsWhole)
        {
            output.WriteLine((check.Head, expected) switch
            {
                (null, _) => "There is no record yet.",
                (_, null) => "The chain is whole: every record fits its hash and the record before it. Whether it was cut off at the end, or all of it made anew, can be seen only with --head.",
                _ => $"The chain is whole, and record {expected.Number} is the one whose hash was written down: nothing up to it was changed, taken out or put in since.",
            });
        }
        else
        {
            output.WriteLine($"The chain BREAKS in {check.BreaksFound:N0} {(check.BreaksFound == 1 ? "place" : "places")}:");
            foreach (var each in check.Breaks)
            {
                var place = each.Number is { } number ? $"record {number}" : $"log entry {each.Sequence}";
                output.WriteLine($"  {place}{(each.At is { } at ? $", {RecordWords.Time(at.Latest, zone)}" : "")}{(each.By is { } by ? $", {by}" : "")}: {each.Problem}");
            }

            if (check.BreaksFound > check.Breaks.Count)
            {
                output.WriteLine($"  ... and {check.BreaksFound - check.Breaks.Count:N0} more");
            }
        }

        if (check.Head is { } head)
        {
            output.WriteLine($"Head, to be written down elsewhere: {head}");
        }
    }

    /// <summary>Shows how far long work has come, where somebody is looking.</summary>
    private static void WithProgress(IAnsiConsole? terminal, Action<Func<string, IProgress<HistorianProgress>?>> work)
    {
        if (terminal is null)
        {
            work(_ => null);
            return;
        }

        terminal.Progress().AutoClear(true).Start(progress => work(title => new ProgressBar(progress.AddTask(title))));
    }
}
