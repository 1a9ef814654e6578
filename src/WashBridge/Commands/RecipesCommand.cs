using System.CommandLine;
using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Time;
using WashBridge.Orders;
using WashBridge.Recipes;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>The versions of the recipes, and what people do to them.</summary>
internal static class RecipesCommand
{
    private const string Caution = "CAUTION: a shorter dwell or weaker chemicals can leave kegs unsafe to fill. Approval is the site's own decision under its own procedures.";

    public static Command Create(TimeProvider time) => new("recipes", "Versions of recipes: list, show, compare; draft, submit, approve, refuse, withdraw, retire.")
    {
        List(time), Show(), Compare(), Draft(time),
        Step("submit", "Gives a draft for approval; from then on it does not change.", time),
        Step("approve", $"Approves a version. Whoever wrote any of it cannot. {Caution}", time),
        Step("refuse", "Does not approve a version: it ends.", time),
        Step("withdraw", "Takes a draft back: it ends.", time),
        Step("retire", "Calls off an approved version before it is in force.", time),
    };

    private static Command List(TimeProvider time)
    {
        var (store, site, zone) = (Store(), SiteOption(), new ZoneOption());
        var command = new Command("list", """
            Lists every version with its state and dates.

            Example: washbridge recipes list plant.washdb --site config/site.yaml
            """) { store, site, zone.Name };
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (zone.Zone(parsed, errors) is not { } read || Open(parsed.GetValue(store)!, parsed.GetValue(site)!, errors) is not { } opened)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var now = Instant.Floor(time.GetUtcNow());
            var table = new TextTable("recipe", "version", "state", "in force from", "until", "last done") { Unbroken = ["recipe", "version", "in force from", "until"] };
            foreach (var version in opened.Book.Ids.SelectMany(opened.Book.Versions))
            {
                table.Add(
                    version.Id, $"{version.Number}", State(version, now), version.From is { } from ? RecordWords.Time(from, read) : version.State == RecipeState.Configured ? "the files" : "",
                    version.Until is { } until ? RecordWords.Time(until, read) : "", version.Acts.Count > 0 ? $"{RecordWords.Of(version.Acts[^1].Step)} by {RecordWords.Who(version.Acts[^1].Act)}: {version.Acts[^1].Act.Reason}" : "");
            }

            table.Write(output, Terminal.Of(output));
            foreach (var conflict in RecipeConflicts.Find(opened.Book))
            {
                output.WriteLine(conflict.Text);
            }

            return ExitCodes.Success;
        });
        return command;
    }

    private static Command Show()
    {
        var (store, site, recipe, version) = (Store(), SiteOption(), RecipeArgument(), VersionArgument());
        var command = new Command("show", """
            Prints a version as YAML, like a file of the configuration.

            Example: washbridge recipes show plant.washdb standard 2 --site config/site.yaml > standard-2.yaml
            """) { store, recipe, version, site };
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (Open(parsed.GetValue(store)!, parsed.GetValue(site)!, errors) is not { } opened || Find(opened.Book, parsed.GetValue(recipe)!, parsed.GetValue(version), errors) is not { } found)
            {
                return ExitCodes.ConfigurationErrors;
            }

            output.Write(RecipeYaml.Write(found.Recipe, signal => RecipeText.UnitOf(opened.Site, found.Id, signal)));
            return ExitCodes.Success;
        });
        return command;
    }

    private static Command Compare()
    {
        var (store, site, recipe, left) = (Store(), SiteOption(), RecipeArgument(), VersionArgument());
        var right = new Argument<int>("other") { Description = "The version to compare with." }.Within(1, int.MaxValue);
        var command = new Command("compare", """
            Says what is other in the second version, requirement by requirement and setting by setting, and which way it goes.

            Example: washbridge recipes compare plant.washdb standard 1 2 --site config/site.yaml
            """) { store, recipe, left, right, site };
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (Open(parsed.GetValue(store)!, parsed.GetValue(site)!, errors) is not { } opened
                || Find(opened.Book, parsed.GetValue(recipe)!, parsed.GetValue(left), errors) is not { } a || Find(opened.Book, parsed.GetValue(recipe)!, parsed.GetValue(right), errors) is not { } b)
            {
                return ExitCodes.ConfigurationErrors;
            }

            Print(RecipeDifference.Between(a.Recipe, b.Recipe), output);
            return ExitCodes.Success;
        });
        return command;
    }

    internal static void Print(RecipeDifference difference, TextWriter output)
    {
        var table = new TextTable("of", "change", "which way", $"version {difference.Left.Version}", $"version {difference.Right.Version}");
        foreach (var line in difference.Lines.Where(l => l.Change != LineChange.Same))
        {
            table.Add(line.Name, line.Change == LineChange.Gone ? "no longer asked" : line.Change.ToString().ToLowerInvariant(), Way(line.Direction), line.Left ?? "", line.Right ?? "");
        }

        if (difference.IsSame)
        {
            output.WriteLine("Both ask the same.");
            return;
        }

        table.Write(output, Terminal.Of(output));
        if (difference.MayBeLooser)
        {
            output.WriteLine(Caution);
        }
    }

    private static Command Draft(TimeProvider time)
    {
        var options = Options();
        var recipe = RecipeArgument();
        var file = new Argument<FileInfo>("file") { Description = "The whole recipe as YAML, like a file of the configuration; its version number does not matter." };
        var version = new Option<int?>("--version") { Description = "Change this draft; without it a new one begins." }.Within(1, int.MaxValue);
        var reason = Reason();
        var command = new Command("draft", $"""
            Begins a draft from a file, or changes one. It takes the next number.

            Example: washbridge recipes draft plant.washdb standard standard-new.yaml --site config/site.yaml --by "K. Wash" --reason "longer dwell for the new sanitiser"
            {Caution}
            """) { options.Store, recipe, file, version, reason };
        options.AddTo(command, withWasher: false);
        command.SetAction(async (parsed, cancellation) =>
        {
            var text = parsed.GetValue(file)!;
            if (!text.Exists)
            {
                await parsed.InvocationConfiguration.Error.WriteLineAsync($"{text.FullName}: no such file.");
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldRecipe(
                parsed.GetValue(recipe), parsed.GetValue(version), "draft", parsed.GetValue(options.By), parsed.GetValue(reason), await System.IO.File.ReadAllTextAsync(text.FullName, cancellation));
            return await BringAsync(parsed, options, told, time, cancellation);
        });
        return command;
    }

    private static Command Step(string step, string what, TimeProvider time)
    {
        var options = Options();
        var (recipe, version, reason) = (RecipeArgument(), VersionArgument(), Reason());
        var from = new Option<string?>("--from") { Description = "Not in force before this, ISO 8601 with a zone; without it: from the last approval on." };
        var command = new Command(step, $"""
            {what}

            Example: washbridge recipes {step} plant.washdb standard 2 --site config/site.yaml --by "Q. Ality" --reason "as tried on 3 March"
            """) { options.Store, recipe, version, reason };
        if (step == "approve")
        {
            command.Options.Add(from);
        }

        options.AddTo(command, withWasher: false);
        command.SetAction((parsed, cancellation) => BringAsync(
            parsed, options, new ToldRecipe(parsed.GetValue(recipe), parsed.GetValue(version), step, parsed.GetValue(options.By), parsed.GetValue(reason), From: step == "approve" ? parsed.GetValue(from) : null), time, cancellation));
        return command;
    }

    /// <summary>The site's file is needed for the recipes that it names, also where the service takes what is told.</summary>
    private static async Task<int> BringAsync(ParseResult parsed, OrderOptions options, ToldRecipe told, TimeProvider time, CancellationToken cancellation)
    {
        var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
        if (SiteFile.Load(parsed.GetValue(options.Site)!, errors) is not { } site || !options.Token(parsed, errors, out var token))
        {
            return ExitCodes.ConfigurationErrors;
        }

        var delivery = new Delivery(parsed.GetValue(options.Store)!, parsed.GetValue(options.Service), output, errors, token, site.Http is { } http ? OrderOptions.AddressOf(http) : null);
        return await delivery.BringAsync(Endpoints.RecipeActs, told, (historian, now) => Telling.Recipe(told, site, historian, now, Teller.Command), time, cancellation);
    }

    private static OrderOptions Options()
    {
        var options = new OrderOptions();
        options.Site.Required = true;
        return options;
    }

    private static Argument<FileInfo> Store() => new("store") { Description = "The historian's file; it is only read." };

    private static Argument<string> RecipeArgument() => new("recipe") { Description = "The recipe's id, as in its file." };

    private static Argument<int> VersionArgument() => new Argument<int>("number") { Description = "The version." }.Within(1, int.MaxValue);

    private static Option<string> Reason() => new("--reason") { Description = "Why.", Required = true };

    private static Option<FileInfo> SiteOption() => new("--site") { Description = "The site's file, for the recipes that it names.", Required = true };

    internal static (Site Site, RecipeBook Book)? Open(FileInfo store, FileInfo siteFile, TextWriter errors)
    {
        if (!store.Exists)
        {
            errors.WriteLine($"{store.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
            return null;
        }

        if (SiteFile.Load(siteFile, errors) is not { } site)
        {
            return null;
        }

        using var historian = Historian.Historian.OpenReader(store.FullName);
        return (site, RecipeLog.Now(historian, site.Recipes));
    }

    internal static RecipeVersion? Find(RecipeBook book, string id, int version, TextWriter errors)
    {
        var found = book.Find(id, version);
        if (found is null)
        {
            errors.WriteLine(book.Versions(id) is { Count: > 0 } versions
                ? $"version: found {version}; {id} has {string.Join(", ", versions.Select(v => v.Number))}"
                : $"recipe: found '{id}'; there {(book.Ids.Count == 1 ? "is" : "are")} {string.Join(", ", book.Ids)}");
        }

        return found;
    }

    private static string State(RecipeVersion version, Instant now) => version.State switch
    {
        RecipeState.Submitted => "waits for approval",
        RecipeState.Retired => "called off",
        RecipeState.Approved when version.From > now => "approved, to come",
        RecipeState.Approved or RecipeState.Configured => version.Until <= now ? "was in force" : "in force",
        _ => version.State.ToString().ToLowerInvariant(),
    };

    private static string Way(Direction direction) => direction switch
    {
        Direction.None => "",
        Direction.Unclear => "depends",
        _ => direction.ToString().ToLowerInvariant(),
    };
}
