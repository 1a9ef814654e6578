using System.CommandLine;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Commands;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Recipes;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Recipes;

public sealed class RecipeCommandsTests : IDisposable
{
    private static readonly string SitePath = Path.Combine(Repository.Root, "config/demo/site.yaml");

    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2031, 3, 5, 8, 20, 0, TimeSpan.Zero));
    private readonly TemporaryFolder _folder = new();
    private readonly string _store;

    public RecipeCommandsTests()
    {
        _store = _folder["plant.washdb"];
        using var historian = HistorianFile.Open(_store, new HistorianOptions(), _time);
        RecipeNight.Live(historian, [], int.MaxValue, _ => { });
        new Analyst(historian, RecipeNight.Site.Washers).CatchUp();
    }

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task A_recipe_goes_into_force_without_a_browser_and_stored_washings_are_judged_again()
    {
        var file = _folder["new.yaml"];
        await File.WriteAllTextAsync(file, RecipeYaml.Write(RecipeNight.Version(1, 60)), TestContext.Current.CancellationToken);
        await Expect(ExitCodes.Success, "recorded:", "draft", _store, "full-wash", file, "--site", SitePath, "--by", "A. Uthor", "--reason", "trial");
        await Expect(ExitCodes.ConfigurationErrors, "needs one that is submitted", "approve", _store, "full-wash", "2", "--site", SitePath, "--by", "Q. Ality", "--reason", "fine");
        await Expect(ExitCodes.Success, "recorded:", "submit", _store, "full-wash", "2", "--site", SitePath, "--by", "A. Uthor", "--reason", "ready");
        await Expect(ExitCodes.ConfigurationErrors, "A. Uthor wrote version 2", "approve", _store, "full-wash", "2", "--site", SitePath, "--by", "A. Uthor", "--reason", "fine");
        await Expect(ExitCodes.Success, "recorded:", "approve", _store, "full-wash", "2", "--site", SitePath, "--by", "Q. Ality", "--reason", "fine", "--from", "2031-03-06T00:00:00Z");
        await Expect(ExitCodes.Success, "approved, to come", "list", _store, "--site", SitePath);
        await Expect(ExitCodes.Success, "at-least: 60 s", "show", _store, "full-wash", "2", "--site", SitePath);
        await Expect(ExitCodes.Success, "stricter", "compare", _store, "full-wash", "1", "2", "--site", SitePath);
        await Expect(ExitCodes.ConfigurationErrors, "full-wash has 1, 2", "show", _store, "full-wash", "9", "--site", SitePath);

        string[] again = ["--site", SitePath, "--recipe", "full-wash", "--version", "2"];
        await ExpectRejudge(ExitCodes.Success, "Nothing was recorded.", [_store, .. again]);
        await ExpectRejudge(ExitCodes.ConfigurationErrors, "reason: found nothing", [_store, .. again, "--record", "--by", "Q. Ality"]);
        await ExpectRejudge(ExitCodes.Success, "verdicts beside those of the time", [_store, .. again, "--record", "--by", "Q. Ality", "--reason", "deviation 12"]);
        using var historian = HistorianFile.OpenReader(_store);
        Assert.NotEmpty(historian.ReadEvents(new EventQuery { Kinds = ["keg-rejudged"] }));
        Assert.All(historian.ReadEvents(new EventQuery { Kinds = ["recipe-acted"] }).Cast<RecipeActed>(), a => Assert.Equal(Means.Command, a.Act.Means));
        Assert.True(historian.VerifyRecords(cancellation: TestContext.Current.CancellationToken).IsWhole);
    }

    [Fact]
    public async Task A_file_gives_the_content_of_a_version_that_is_not_known_and_must_not_contradict_one_that_is()
    {
        var file = _folder["old.yaml"];
        await File.WriteAllTextAsync(file, RecipeYaml.Write(RecipeNight.Version(7, 60)), TestContext.Current.CancellationToken);
        await ExpectRejudge(ExitCodes.Success, "full-wash version 7", [_store, "--site", SitePath, "--recipe", "full-wash", "--version", "7", "--file", file]);
        await File.WriteAllTextAsync(file, RecipeYaml.Write(RecipeNight.Version(1, 60)), TestContext.Current.CancellationToken);
        await ExpectRejudge(ExitCodes.ConfigurationErrors, "known with another content", [_store, "--site", SitePath, "--recipe", "full-wash", "--version", "1", "--file", file]);
        await ExpectRejudge(ExitCodes.ConfigurationErrors, "is used by north", [_store, "--site", SitePath, "--recipe", "full-wash", "--version", "1", "--washer", "nowhere"]);
    }

    [Fact]
    public void A_check_tells_where_the_stores_book_and_the_files_disagree()
    {
        var site = RecipeNight.Site with { Store = RecipeNight.Site.Store with { Path = _store } };
        Assert.Empty(FileConflicts.Find(site));
        using (var historian = HistorianFile.Open(_store, new HistorianOptions(), _time))
        {
            // A book in which people drafted what the files now have as version 1.
            historian.AppendEvents([RecipeNight.Acted(1, RecipeStep.Drafted, RecipeNight.Start, "A. Uthor") with { Recipe = RecipeNight.Version(1, 60) }]);
        }

        Assert.Contains("another content", Assert.Single(FileConflicts.Find(site)).Text, StringComparison.Ordinal);
        Assert.Empty(FileConflicts.Find(site with { Store = site.Store with { Path = _folder["none.washdb"] } }));
    }

    private Task Expect(int code, string text, params string[] args) => Run(RecipesCommand.Create(_time), code, text, args);

    private Task ExpectRejudge(int code, string text, string[] args) => Run(RejudgeCommand.Create(_time), code, text, args);

    private static async Task Run(Command command, int code, string text, string[] args)
    {
        using var output = new StringWriter();
        var exit = await command.Parse(args).InvokeAsync(new InvocationConfiguration { Output = output, Error = output }, TestContext.Current.CancellationToken);
        Assert.True(code == exit, output.ToString());
        Assert.Contains(text, output.ToString(), StringComparison.Ordinal);
    }
}
