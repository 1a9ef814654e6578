using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Recipes;
using WashBridge.Tests.Recipes;
using WashBridge.Tests.Web;
using WashBridge.Tests.Web.Kegs;

namespace WashBridge.Tests.Orders;

/// <summary>The commands by which people tell something, against a service that asks for a login, in every role.</summary>
public sealed class CommandsWithTokenTests : IDisposable
{
    private static readonly string SitePath = Path.Combine(Repository.Root, "config/demo/site.yaml");

    private readonly TemporaryFolder _folder = new();

    public static TheoryData<string, Role> Acts => new()
    {
        { "maintain STORE drain-valve@2 replaced --washer north", Role.Operator },
        { "alarm STORE drain-valve@2 acknowledge --washer north", Role.Operator },
        { "bath titrate STORE caustic 2.1 --washer north", Role.Operator },
        { "bath change STORE caustic --washer north", Role.Operator },
        { "inspect STORE K-MET passed --found clean", Role.Operator },
        { "records correct STORE 1 strength 2.2 --reason slip", Role.Qa },
        { "sampling STORE --from 2031-03-05T05:00:00Z --until 2031-03-05T06:00:00Z --exclude 50% --record --name lot", Role.Operator },
        { "keg STORE K-MET release", Role.Operator },
        { "keg STORE K-MET hold --reason dented", Role.Operator },
        { "keg STORE K-MET rewash --reason dented", Role.Qa },
        { "keg STORE K-SHORT release --reason checked", Role.Qa },
        { "recipes draft STORE full-wash FILE --site SITE --reason trial", Role.Operator },
        { "recipes submit STORE full-wash 4 --site SITE --reason ready", Role.Operator },
        { "recipes withdraw STORE full-wash 4 --site SITE --reason mistaken", Role.Operator },
        { "recipes approve STORE full-wash 3 --site SITE --reason tried --from 2031-03-08T00:00:00Z", Role.Qa },
        { "recipes refuse STORE full-wash 3 --site SITE --reason doubtful", Role.Qa },
        { "recipes retire STORE full-wash 2 --site SITE --reason unwanted", Role.Qa },
    };

    public void Dispose() => _folder.Dispose();

    [Theory]
    [MemberData(nameof(Acts))]
    public async Task Each_is_taken_from_the_role_that_it_is_for_and_those_above_and_from_no_other(string line, Role least)
    {
        foreach (var role in Enum.GetValues<Role>())
        {
            await using var trial = await StartAsync();
            var before = trial.Historian.RecordHead!.Number;
            var (code, output, errors) = await RunAsync(trial, line, trial.Tokens.Make(WebTrial.Tester, "desk", role, TimeSpan.FromDays(1)));
            var told = trial.Historian.ReadRecords(before, 10).Where(r => r.Event is not AccountChanged).ToList();
            if (role >= least)
            {
                Assert.True(code == ExitCodes.Success, $"{role}: {errors}");
                var record = Assert.Single(told);
                Assert.Equal(("desk", role, Means.Api), (record.Act.By, record.Act.Role, record.Act.Means));
                Assert.Contains(record.Event.Id, output, StringComparison.Ordinal);
            }
            else
            {
                Assert.Equal(ExitCodes.ConfigurationErrors, code);
                Assert.Empty(told);
                Assert.Contains(role == Role.Viewer ? "role" : "role: found operator", errors, StringComparison.Ordinal);
                Assert.DoesNotContain("{", errors, StringComparison.Ordinal);
            }
        }
    }

    [Fact]
    public async Task Without_a_token_or_with_one_that_is_not_known_it_says_what_is_needed()
    {
        await using var trial = await StartAsync();
        var before = trial.Historian.LastSequence;
        const string Line = "keg STORE K-MET hold --reason dented";
        var without = await RunAsync(trial, Line, token: null);
        Assert.Equal(ExitCodes.ConfigurationErrors, without.Code);
        Assert.Contains("asks for a login; give a token by --token-file or WASHBRIDGE_TOKEN", without.Errors, StringComparison.Ordinal);
        var unknown = await RunAsync(trial, Line, "made-up");
        Assert.Equal(ExitCodes.ConfigurationErrors, unknown.Code);
        Assert.Contains("the token is unknown, expired or revoked", unknown.Errors, StringComparison.Ordinal);
        Assert.Equal(before, trial.Historian.LastSequence);
    }

    [Fact]
    public async Task A_token_signs_in_no_other_name_than_its_own()
    {
        await using var trial = await StartAsync();
        var (code, _, errors) = await RunAsync(trial, "keg STORE K-MET hold --reason dented", trial.Tokens.Make(WebTrial.Tester, "desk", Role.Administrator, TimeSpan.FromDays(1)), by: "K. Wash");
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("by: found 'K. Wash'; logged in is 'desk'", errors, StringComparison.Ordinal);
    }

    /// <summary>A service with something that each of them can be done to.</summary>
    private static async Task<WebTrial> StartAsync()
    {
        var trial = await WebTrial.StartWithLoginAsync();
        var before = Instant.Floor(trial.Time.GetUtcNow()) - TimeSpan.FromMinutes(1);
        trial.Historian.AppendEvents(
        [
            new TitrationRecorded { Id = "t1", Washer = "north", At = TimeBounds.At(before), Act = new Act { By = "T. Ester" }, Bath = "caustic", Strength = 2, Unit = "%" },
            WashedKegs.Judged("K-MET", Verdict.Met, before),
            WashedKegs.Judged("K-SHORT", Verdict.NotMet, before, station: 2),
            new AlarmChanged
            {
                Id = "north/alarm/1", Washer = "north", At = TimeBounds.At(before), Alarm = "drain-valve@2", From = AlarmState.Normal, To = AlarmState.Unacknowledged, Priority = AlarmPriority.Low,
                Text = new AlarmText { What = "drains slowly", Kegs = "", LookAt = "" },
            },
            .. RecipeNight.Approved(2, 50, before, before + TimeSpan.FromDays(1)),
            RecipeNight.Acted(3, RecipeStep.Drafted, before, "A. Uthor") with { Recipe = RecipeNight.Version(3, 55) },
            RecipeNight.Acted(3, RecipeStep.Submitted, before, "A. Uthor"),
            RecipeNight.Acted(4, RecipeStep.Drafted, before, "A. Uthor") with { Recipe = RecipeNight.Version(4, 60) },
        ]);
        return trial;
    }

    private async Task<(int Code, string Output, string Errors)> RunAsync(WebTrial trial, string line, string? token, string by = "desk")
    {
        var recipe = _folder["new.yaml"];
        await File.WriteAllTextAsync(recipe, RecipeYaml.Write(RecipeNight.Version(1, 61)), WebTrial.Cancellation);
        List<string> arguments = [.. line.Replace("STORE", trial.Site.Store.Path, StringComparison.Ordinal).Replace("FILE", recipe, StringComparison.Ordinal).Replace("SITE", SitePath, StringComparison.Ordinal).Split(' '), "--by", by, "--service", trial.Address.ToString()];
        if (token is not null)
        {
            var file = _folder["token"];
            await File.WriteAllTextAsync(file, token + "\n", WebTrial.Cancellation);
            arguments.AddRange(["--token-file", file]);
        }

        var root = new RootCommand
        {
            MaintainCommand.Create(trial.Time), AlarmCommand.Create(trial.Time), BathCommand.Create(trial.Time), InspectCommand.Create(trial.Time), RecordsCommand.Create(trial.Time),
            SamplingCommand.Create(trial.Time), KegCommand.Create(trial.Time), RecipesCommand.Create(trial.Time),
        };
        var (output, errors) = (new StringWriter(), new StringWriter());
        var code = await root.Parse(arguments).InvokeAsync(new InvocationConfiguration { Output = output, Error = errors }, WebTrial.Cancellation);
        return (code, output.ToString(), errors.ToString());
    }
}
