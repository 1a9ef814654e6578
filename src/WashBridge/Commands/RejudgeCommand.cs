using System.CommandLine;
using Spectre.Console;
using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Recipes;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Judges stored washings again with another version of their recipe: what would differ, and on request a record of it.</summary>
internal static class RejudgeCommand
{
    private const int BatchSize = 200;

    public static Command Create(TimeProvider time)
    {
        var store = new Argument<FileInfo>("store") { Description = "The historian's file. It is only read, unless --record is given." };
        var period = new PeriodOptions();
        var site = new Option<FileInfo>("--site") { Description = "The site's file.", Required = true };
        var recipe = new Option<string>("--recipe") { Description = "The recipe's id.", Required = true };
        var version = new Option<int>("--version") { Description = "The version to judge with.", Required = true }.Within(1, int.MaxValue);
        var file = new Option<FileInfo?>("--file") { Description = "Its content, where neither the site's files nor what people drafted have it." };
        var record = new Option<bool>("--record") { Description = "Record each verdict beside that of the time; needs --by and --reason. Without it nothing is written." };
        var by = new Option<string?>("--by") { Description = "Who has it recorded." };
        var reason = new Option<string?>("--reason") { Description = "Why." };
        var command = new Command("rejudge", """
            Judges stored washings again with another version of their recipe, from the readings that are kept, and says which kegs would have another verdict.
            The verdicts of the time stay what they are; decisions about kegs go by those.

            Examples:
              washbridge rejudge plant.washdb --site config/site.yaml --recipe standard --version 2 --from 2031-03-01T00:00:00Z
              washbridge rejudge plant.washdb --site config/site.yaml --recipe standard --version 2 --record --by "Q. Ality" --reason "deviation 12"
            """) { store, site, recipe, version, file, record, by, reason };
        period.AddPeriodTo(command);
        command.SetAction((parsed, cancellation) =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (period.Zone(parsed, errors) is not { } zone
                || RecipesCommand.Open(parsed.GetValue(store)!, parsed.GetValue(site)!, errors) is not { } opened
                || Content(opened, parsed.GetValue(recipe)!, parsed.GetValue(version), parsed.GetValue(file), parsed.GetValue(record), errors) is not { } content)
            {
                return Task.FromResult(ExitCodes.ConfigurationErrors);
            }

            var question = new RejudgeQuestion(content, parsed.GetValue(period.From) ?? new Instant(0), parsed.GetValue(period.Until) ?? Instant.Ceiling(time.GetUtcNow()), parsed.GetValue(period.Washer));
            if (!Rejudging.Washers(opened.Site, question).Any())
            {
                errors.WriteLine($"--washer: found '{question.Washer}'; {content.Id} is used by {string.Join(", ", RecipeText.Of(opened.Site, content.Id).Select(w => w.Model.Washer))}");
                return Task.FromResult(ExitCodes.ConfigurationErrors);
            }

            try
            {
                return Task.FromResult(parsed.GetValue(record)
                    ? Record(parsed.GetValue(store)!, opened.Site, question, parsed.GetValue(by), parsed.GetValue(reason), zone, time, output, cancellation)
                    : Count(parsed.GetValue(store)!, opened.Site, question, zone, output, cancellation));
            }
            catch (TellingException refused)
            {
                errors.WriteLine(refused.Message);
                return Task.FromResult(ExitCodes.ConfigurationErrors);
            }
            catch (HistorianException inUse) when (inUse.Fault == HistorianFault.InUse)
            {
                errors.WriteLine($"{parsed.GetValue(store)!.FullName}: the service is writing to it. Count with this command and record on the service's page recipes/{content.Id}/{content.Version}/again, or stop the service.");
                return Task.FromResult(ExitCodes.StoreErrors);
            }
        });
        return command;
    }

    /// <summary>Null after printing what is wrong.</summary>
    private static Recipe? Content((Site Site, RecipeBook Book) opened, string id, int version, FileInfo? file, bool isRecorded, TextWriter errors)
    {
        if (file is null)
        {
            var found = RecipesCommand.Find(opened.Book, id, version, errors);
            if (found is { State: RecipeState.Draft } && isRecorded)
            {
                errors.WriteLine($"--record: version {version} of {id} is a draft and can still change; allowed: a version that does not change any more");
                return null;
            }

            return found?.Recipe;
        }

        if (!file.Exists)
        {
            errors.WriteLine($"{file.FullName}: no such file.");
            return null;
        }

        var read = RecipeText.Read(File.ReadAllText(file.FullName), file.FullName, opened.Site);
        foreach (var problem in read.Problems)
        {
            errors.WriteLine(problem);
        }

        if (read.Recipe is { } recipe && (recipe.Id != id || recipe.Version != version))
        {
            errors.WriteLine($"{file.FullName}: found {recipe.Id} version {recipe.Version}; asked for is {id} version {version}");
            return null;
        }

        if (read.Recipe is { } other && opened.Book.Find(id, version) is { } known && !RecipeContent.Same(known.Recipe, other))
        {
            errors.WriteLine($"{file.FullName}: version {version} of {id} is known with another content; leave --file out, or give the file another number");
            return null;
        }

        return read.Recipe;
    }

    private static int Count(FileInfo store, Site site, RejudgeQuestion question, TimeZoneInfo zone, TextWriter output, CancellationToken cancellation)
    {
        using var historian = Historian.Historian.OpenReader(store.FullName);
        var summary = new RejudgeSummary();
        WithProgress(share =>
        {
            foreach (var keg in Rejudging.Run(historian, site, question, share, cancellation))
            {
                summary.Add(keg);
            }
        });
        Print(summary, question, zone, output);
        output.WriteLine("Nothing was recorded.");
        return ExitCodes.Success;
    }

    private static int Record(FileInfo store, Site site, RejudgeQuestion question, string? by, string? reason, TimeZoneInfo zone, TimeProvider time, TextWriter output, CancellationToken cancellation)
    {
        var act = TellingChecks.Act(by, reason, time.GetUtcNow(), Teller.Command, "judging again needs a reason");
        using var historian = Historian.Historian.Open(store.FullName, new HistorianOptions(), time);
        var (summary, desk, before) = (new RejudgeSummary(), new RecordDesk(historian, signal: null, time), historian.RecordHead?.Number ?? 0);
        WithProgress(share =>
        {
            foreach (var batch in Rejudging.Run(historian, site, question, share, cancellation).Chunk(BatchSize))
            {
                desk.TakeAll(now => [.. batch.Select(keg => Rejudging.Record(keg, question.Recipe, act, TellingChecks.Now(now))).OfType<WashEvent>()]);
                Array.ForEach(batch, summary.Add);
            }
        });
        Print(summary, question, zone, output);
        output.WriteLine($"Recorded: {(historian.RecordHead?.Number ?? 0) - before} verdicts beside those of the time. Decisions about kegs go by the verdicts of the time.");
        return ExitCodes.Success;
    }

    private static void Print(RejudgeSummary summary, RejudgeQuestion question, TimeZoneInfo zone, TextWriter output)
    {
        output.WriteLine($"{question.Recipe.Id} version {question.Recipe.Version}: {summary.Kegs} kegs of {summary.Cycles} cycles, {summary.Others} would have another verdict, {summary.Kegs - summary.Others - summary.Unjudged} as before, {summary.Unjudged} cannot be judged again.");
        var table = new TextTable("washed", "keg", "cycle", "was", "would be", "because") { Unbroken = ["washed"] };
        foreach (var keg in summary.NamedOthers.Concat(summary.NamedUnjudged))
        {
            table.Add(
                RecordWords.Time(keg.Was.At.Latest, zone), keg.Was.Verdict.KegId, keg.Was.Verdict.CycleId, Words.Of(keg.Was.Verdict.Verdict), keg.Now is { } now ? Words.Of(now.Verdict) : "not judged again",
                keg.Obstacle ?? string.Join("; ", keg.Reasons.Select(r => $"{r.Requirement}: {r.Evidence}")));
        }

        if (summary.Others + summary.Unjudged > 0)
        {
            table.Write(output, Terminal.Of(output));
        }

        if (summary.Others > summary.NamedOthers.Count || summary.Unjudged > summary.NamedUnjudged.Count)
        {
            output.WriteLine($"Named are the first {RejudgeSummary.MostNamed} of each; all are counted.");
        }
    }

    /// <summary>On the error output, so that what is found can be written to a file or a pipe.</summary>
    private static void WithProgress(Action<Action<double>> work)
    {
        var console = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(Console.Error) });
        console.Progress().Start(progress =>
        {
            var task = progress.AddTask("judging again", maxValue: 1);
            work(share => task.Value(share));
            task.Value(1);
        });
    }
}
