using System.CommandLine;
using System.Text.RegularExpressions;
using WashBridge.Commands;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Lots;
using WashBridge.Orders;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Lots;

public sealed class SamplingCommandTests : IDisposable
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T06:00:00Z");

    private readonly TemporaryFolder _folder = new();

    private string Store => _folder["a.washdb"];

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_plan_for_a_lot_is_told_with_what_it_proves_and_its_limits()
    {
        var output = Done("--lot", "480", "--exclude", "1%", "--confidence", "95%");
        Assert.Contains("Plan: open 216 of the 480 kegs of the lot\n", output, StringComparison.Ordinal);
        Assert.Contains(Proof.Of(ExactPlan.ForLot(480, 0.01, 0, 0.95)), output, StringComparison.Ordinal);
        Assert.All(Proof.Limits, limit => Assert.Contains(limit, output, StringComparison.Ordinal));
        Assert.DoesNotContain(Proof.ProcessLimit, output, StringComparison.Ordinal);
        Assert.Matches(@"\n1 % +11\.4 %\n", output);
    }

    [Theory]
    [InlineData("216", "--lot", "480", "--exclude", "5")]
    [InlineData("59", "--exclude", "5%")]
    [InlineData("93", "--exclude", "5 %", "--accept", "1", "--confidence", "95")]
    [InlineData("59", "--lot", "480", "--exclude", "5%", "--process")]
    [InlineData("50", "--lot", "480", "--aql", "1")]
    [InlineData("50", "--lot", "480", "--aql", "1.0%", "--inspection", "normal")]
    [InlineData("80", "--lot", "480", "--aql", "1.0", "--level", "III")]
    [InlineData("80", "--lot", "480", "--aql", "1.0", "--inspection", "tightened")]
    [InlineData("20", "--lot", "480", "--aql", "2.5", "--inspection", "reduced")]
    [InlineData("200", "--lot", "480", "--aql", "0.065")]
    public void Options_make_the_plan(string size, params string[] arguments) => Assert.StartsWith($"\nPlan: open {size} ", Done(arguments), StringComparison.Ordinal);

    [Fact]
    public void A_plan_of_the_tables_names_them_and_what_the_AQL_is_not()
    {
        var output = Done("--lot", "480", "--aql", "0.65");
        Assert.Contains("normal inspection, general level II, AQL 0.65 %, code letter H, by the table's arrow that of J; Ac 1, Re 2.", output, StringComparison.Ordinal);
        Assert.Contains(Proof.AqlLimit, output, StringComparison.Ordinal);
        Assert.Contains("ISO 2859-1:1999 has others in places", Done("--lot", "480", "--aql", "2.5", "--inspection", "reduced"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("no more than 8 of the 480 kegs", "--lot", "480", "--opened", "216", "--failed", "1")]
    [InlineData("between 18 and 101 of the 480 kegs", "--lot", "480", "--opened", "50", "--failed", "5", "--two-sided")]
    [InlineData("no more than 4.96 % of the washer's kegs", "--opened", "59", "--failed", "0")]
    [InlineData("no more than 4.96 % of the washer's kegs", "--opened", "59", "--failed", "0", "--lot", "480", "--process")]
    public void A_result_is_told_as_a_bound(string told, params string[] arguments) => Assert.Contains(told, Done(arguments), StringComparison.Ordinal);

    [Theory]
    [InlineData("216", "0", "accepted: 0 failed, allowed at most 0.")]
    [InlineData("216", "1", "not accepted: 1 failed, allowed at most 0.")]
    [InlineData("100", "0", "not yet fulfilled: 100 opened, 216 to open.")]
    [InlineData("100", "1", "not accepted: 1 failed, allowed at most 0.")]
    public void A_result_beside_its_plan_is_decided(string opened, string failed, string decision)
        => Assert.Contains("By the plan above: " + decision, Done("--lot", "480", "--exclude", "1%", "--opened", opened, "--failed", failed), StringComparison.Ordinal);

    [Theory]
    [InlineData("1", "accepted: 1 failed, allowed at most 1.")]
    [InlineData("3", "accepted, but reduced inspection ends: 3 failed, more than 1.")]
    [InlineData("4", "not accepted: 4 failed, allowed at most 3.")]
    public void The_gap_of_reduced_inspection_is_told(string failed, string decision)
        => Assert.Contains("By the plan above: " + decision, Done("--lot", "480", "--aql", "2.5", "--inspection", "reduced", "--opened", "20", "--failed", failed), StringComparison.Ordinal);

    [Fact]
    public void More_opened_than_planned_is_not_silently_the_same_plan()
        => Assert.Contains("More were opened (30) than the plan asks for (20)", Done("--lot", "480", "--aql", "2.5", "--inspection", "reduced", "--opened", "30", "--failed", "0"), StringComparison.Ordinal);

    [Fact]
    public void Kegs_are_drawn_and_the_printed_seed_draws_them_again()
    {
        Make([.. Enumerable.Range(1, 60).Select(i => Judged($"K-{i:00}", i))]);
        var first = Done(Store, "--exclude", "10%");
        var seed = Regex.Match(first, "\nSeed: ([0-9a-f]{32})\n").Groups[1].Value;
        var again = Done(Store, "--exclude", "10%", "--seed", seed);
        Assert.Equal(Drawn(first), Drawn(again));
        Assert.NotEqual(Drawn(first), Drawn(Done(Store, "--exclude", "10%")));
        string[] lot = [.. Enumerable.Range(1, 60).Select(i => $"K-{i:00}")];
        Assert.Equal(RandomChoice.Choose(seed, lot, ExactPlan.ForLot(60, 0.1, 0, 0.95).SampleSize), Drawn(first));
        Assert.Contains($"\nLot's fingerprint: {RandomChoice.Fingerprint(lot)}\n", first, StringComparison.Ordinal);
        Assert.Contains("Record seed and fingerprint before the first keg is opened", first, StringComparison.Ordinal);
    }

    [Fact]
    public void The_lot_has_each_keg_once_by_its_last_washing_and_none_to_be_washed_again()
    {
        Make(
            Judged("K-1", 1, Verdict.NotMet),
            Judged("K-2", 1, Verdict.Met),
            Judged("K-3", 1, Verdict.NotProven),
            Judged("w1-c1/4", 1, Verdict.Met, KegIdSource.Made),
            Judged("K-1", 2, Verdict.Met),
            Judged("K-2", 2, Verdict.NotMet));
        var output = Done(Store, "--exclude", "3", "--accept", "2");
        Assert.StartsWith("Lot: 3 kegs, each by its last washing in the period.\nLeft out, because their verdict is not met: 1.\nKegs whose own id nobody told: 1.", output, StringComparison.Ordinal);
        Assert.Equal(["K-1", "K-3", "w1-c1/4"], Drawn(output).Order(StringComparer.Ordinal));
        Assert.Matches(@"\d +K-1 +w1 +1 +2031-03-05 07:02:00 \+01:00  met +c2\n", Done(Store, "--exclude", "3", "--accept", "2", "--zone", "Europe/Vienna"));
    }

    [Fact]
    public void Only_the_period_and_washer_asked_for_are_the_lot()
    {
        Make(Judged("K-1", 1), Judged("K-2", 2), Judged("K-3", 3), Judged("K-4", 2, washer: "w2"));
        Assert.Equal(["K-2"], Drawn(Done(Store, "--exclude", "1", "--from", "2031-03-05T06:02:00Z", "--until", "2031-03-05T06:03:00Z", "--washer", "w1")));
    }

    [Fact]
    public void A_draw_is_recorded_with_plan_seed_and_kegs_before_the_first_is_opened()
    {
        Make([.. Enumerable.Range(1, 60).Select(i => Judged($"K-{i:00}", i))]);
        string[] period = ["--from", "2031-03-05T06:00:00Z", "--until", "2031-03-05T14:00:00Z"];
        var output = Done([Store, .. period, "--exclude", "20%", "--record", "--name", "early shift", "--by", "T. Ester", "--reason", "weekly check"]);
        using var reader = HistorianFile.OpenReader(Store);
        var drawn = Assert.IsType<LotSampled>(Assert.Single(reader.ReadRecords(0, 10)).Event);
        Assert.Equal(Drawn(output), drawn.Drawn);
        Assert.Contains($"Seed: {drawn.Seed}\n", output, StringComparison.Ordinal);
        Assert.Contains($"fingerprint: {drawn.Fingerprint}\n", output, StringComparison.Ordinal);
        Assert.Equal(("early shift", 60, 0, "w1", "T. Ester", "weekly check"), (drawn.Lot, drawn.Size, drawn.AcceptanceNumber, drawn.Washer, drawn.Act.By, drawn.Act.Reason));
        Assert.Equal(Proof.Of(ExactPlan.ForLot(60, 0.2, 0, 0.95)), drawn.Proof);
        Assert.Equal("spear pull; excludes 12 kegs with 95 % confidence, 0 may fail; of kegs washed from 2031-03-05T06:00:00.000000Z until 2031-03-05T14:00:00.000000Z", drawn.Plan);
        Assert.Equal(ExactPlan.ForLot(60, 12, 0, 0.95), SamplingPlan.Of(drawn)!.Exact);
        Assert.Contains(reader.ReadKeg(drawn.Drawn[0]), e => e.Event is LotSampled);
        Assert.Equal(drawn.Drawn, Drawn(Done([Store, .. period, "--exclude", "20%", "--seed", drawn.Seed])));
    }

    /// <summary>The rules of ISO 2859-1, 9.3: five lots accepted in a row, and so on; whoever drew them, by command or on the page.</summary>
    [Fact]
    public void Lots_drawn_by_command_lead_to_tightened_and_reduced_inspection_like_those_of_the_page()
    {
        Make([.. Enumerable.Range(1, 60).Select(i => Judged($"K-{i:00}", i))]);
        string[] aql = ["--aql", "1.0", "--record", "--by", "T. Ester", "--steady", "--kind", "swab"];
        Done([Store, "--from", "2031-03-05T06:00:00Z", "--until", "2031-03-05T06:30:00Z", "--name", "first", .. aql]);
        Done([Store, "--from", "2031-03-05T06:30:00Z", "--until", "2031-03-05T14:00:00Z", "--washer", "w1", "--name", "second", .. aql]);
        using var reader = HistorianFile.OpenReader(Store);
        var draws = reader.ReadRecords(0, 10).Select(r => (LotSampled)r.Event).ToList();
        var lots = LotStanding.Of(draws, [.. draws.SelectMany(d => d.Drawn.Select(k => Opened(d.Lot, k)))]);
        Assert.All(lots, l => Assert.Equal((InspectionKind.Swab, 1.0, true, LotOutcome.Accepted), (l.Plan!.Kind, l.Plan.Table!.Aql, l.Plan.IsSteady, l.Outcome)));
        Assert.Equal("kegs washed from 2031-03-05T06:30:00.000000Z until 2031-03-05T14:00:00.000000Z by w1", lots[1].Plan!.Kegs);
        var switching = LotSwitching.Of(lots, "w1", InspectionKind.Swab, 1.0, InspectionLevel.II);
        Assert.Equal(2, switching.Lots);
        Assert.Empty(switching.Problems);
        Assert.True(switching.State.Score > 0);
    }

    [Fact]
    public void A_name_that_was_drawn_from_before_is_refused_because_results_name_the_lot()
    {
        Make([.. Enumerable.Range(1, 60).Select(i => Judged($"K-{i:00}", i))]);
        string[] draw = [Store, "--from", "2031-03-05T06:00:00Z", "--until", "2031-03-05T14:00:00Z", "--exclude", "20%", "--record", "--name", "early", "--by", "T. Ester"];
        Done(draw);
        var (code, _, errors) = Run(draw);
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.StartsWith("lot: found 'early', which was drawn from before", errors, StringComparison.Ordinal);
    }

    [Fact]
    public void A_draw_of_a_lot_that_has_changed_since_is_not_recorded()
    {
        Make([.. Enumerable.Range(1, 60).Select(i => Judged($"K-{i:00}", i))]);
        using var reader = HistorianFile.OpenReader(Store);
        var told = new ToldDraw("early", "2031-03-05T06:00:00Z", "2031-03-05T14:00:00Z", "s", "T. Ester", Exclude: "20%", Fingerprint: "another");
        Assert.True(Assert.Throws<TellingException>(() => Telling.Draw(told, reader, DateTimeOffset.UnixEpoch)).IsConflict);
        Assert.StartsWith("exclude, aql: found both or none", Assert.Throws<TellingException>(() => Telling.Draw(told with { Fingerprint = null, Exclude = null }, reader, DateTimeOffset.UnixEpoch)).Message, StringComparison.Ordinal);
        Assert.StartsWith("--level: found IV; allowed: I, II, III", Assert.Throws<TellingException>(() => Telling.Draw(told with { Fingerprint = null, Exclude = null, Aql = "1", Level = "IV" }, reader, DateTimeOffset.UnixEpoch)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_result_of_a_period_needs_no_plan_and_draws_nothing()
    {
        Make([.. Enumerable.Range(1, 60).Select(i => Judged($"K-{i:00}", i))]);
        var output = Done(Store, "--opened", "20", "--failed", "0");
        Assert.Contains("of the 60 kegs of the lot fail", output, StringComparison.Ordinal);
        Assert.DoesNotContain("Seed", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("found nothing to answer; allowed: --exclude", "--lot", "480")]
    [InlineData("--exclude and --aql: found both; allowed: one plan at a time", "--lot", "480", "--exclude", "1%", "--aql", "1")]
    [InlineData("--opened and --failed: found one of them; allowed: both or none", "--opened", "5")]
    [InlineData("--name, --by, --reason, --kind and --steady: found without --record; allowed: with it", "--lot", "480", "--aql", "1", "--steady")]
    [InlineData("--exclude: found a number of kegs (5) without a lot; allowed: a share such as 1%, or --lot", "--exclude", "5")]
    [InlineData("--exclude: found x; allowed: a share such as 1%, or a number of failing kegs such as 5", "--lot", "480", "--exclude", "x")]
    [InlineData("--exclude: found 1,5%; allowed: a number in per cent such as 2.5%, with a decimal point", "--lot", "480", "--exclude", "1,5%")]
    [InlineData("--exclude: found -1%; allowed: a number in per cent such as 2.5%, with a decimal point", "--lot", "480", "--exclude=-1%")]
    [InlineData("--confidence: found high; allowed: a number in per cent such as 2.5%, with a decimal point", "--lot", "480", "--exclude", "1%", "--confidence", "high")]
    [InlineData("confidence: found 0.95 %; allowed: 50 % to 99.9999 %", "--lot", "480", "--exclude", "1%", "--confidence", "0.95")]
    [InlineData("rate to exclude: found 0 %; allowed: more than 0 % and less than 100 %", "--lot", "480", "--exclude", "0%")]
    [InlineData("--lot: found 48x; allowed: a whole number of kegs such as 480", "--lot", "48x", "--exclude", "1%")]
    [InlineData("--opened: found 2.5; allowed: a whole number of kegs", "--lot", "480", "--opened", "2.5", "--failed", "0")]
    [InlineData("lot: found 0; allowed: 1 to 1,000,000", "--lot", "0", "--exclude", "1%")]
    [InlineData("failed: found 6; allowed: 0 to 5", "--opened", "5", "--failed", "6")]
    [InlineData("--lot: found nothing; allowed: a number of kegs, which the tables need", "--aql", "1")]
    [InlineData("AQL: found 3 %; allowed: 0.01, 0.015,", "--lot", "480", "--aql", "3")]
    [InlineData("--accept: found beside --aql;", "--lot", "480", "--aql", "1", "--accept", "1")]
    [InlineData("--seed and --washer: found without a historian;", "--lot", "480", "--exclude", "1%", "--seed", "s")]
    [InlineData("--from and --until: found without a historian;", "--lot", "480", "--exclude", "1%", "--from", "2031-03-05T06:00:00Z")]
    [InlineData("--lot: found beside a historian;", "no.washdb", "--lot", "480", "--exclude", "1%")]
    [InlineData("--record: found without all that a record needs;", "--lot", "480", "--exclude", "1%", "--record")]
    [InlineData("--name, --by, --reason, --kind and --steady: found without --record;", "--lot", "480", "--exclude", "1%", "--by", "T. Ester")]
    [InlineData("--zone Nowhere: unknown.", "--lot", "480", "--exclude", "1%", "--zone", "Nowhere")]
    public void What_is_wrong_is_told_with_what_is_allowed_and_nothing_else(string message, params string[] arguments)
    {
        var (code, output, errors) = Run(arguments);
        Assert.Equal((ExitCodes.ConfigurationErrors, ""), (code, output));
        Assert.StartsWith(message, errors, StringComparison.Ordinal);
    }

    [Fact]
    public void A_store_without_fitting_kegs_is_told()
    {
        Assert.Contains("no such file", Run(Store, "--exclude", "1%").Errors, StringComparison.Ordinal);
        Make(Judged("K-1", 1, Verdict.NotMet));
        Assert.EndsWith("found no keg of this period but 1 whose verdict is not met; allowed: a period in which kegs were judged\n", Run(Store, "--exclude", "1%").Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void A_plan_for_the_washer_that_the_period_cannot_fill_is_told()
    {
        Make(Judged("K-1", 1));
        var (code, output, errors) = Run(Store, "--exclude", "5%", "--process");
        Assert.Equal((ExitCodes.ConfigurationErrors, ""), (code, output));
        Assert.StartsWith("sample size: found 59, which the plan for the washer asks for; allowed: up to the 1 kegs of the period.", errors, StringComparison.Ordinal);
    }

    private static KegInspected Opened(string lot, string keg) => new()
    {
        Id = $"{lot}/{keg}", Washer = "w1", At = default, Act = new Act { By = "T. Ester" }, KegId = keg, Lot = lot, Inspection = InspectionKind.Swab, Passed = true, Found = "clean",
    };

    private static string[] Drawn(string output) => [.. Regex.Matches(output, @"^\d+ +(\S+) +w\d ", RegexOptions.Multiline).Select(m => m.Groups[1].Value)];

    private static string Done(params string[] arguments)
    {
        var (code, output, errors) = Run(arguments);
        Assert.Equal((ExitCodes.Success, ""), (code, errors));
        return output;
    }

    private static (int Code, string Output, string Errors) Run(params string[] arguments)
    {
        var (output, errors) = (new StringWriter { NewLine = "\n" }, new StringWriter { NewLine = "\n" });
        var code = SamplingCommand.Create(TimeProvider.System).Parse(arguments).Invoke(new InvocationConfiguration { Output = output, Error = errors });
        return (code, output.ToString(), errors.ToString());
    }

    private static KegJudged Judged(string keg, int minute, Verdict verdict = Verdict.Met, KegIdSource source = KegIdSource.Scan, string washer = "w1")
    {
        var at = Start + TimeSpan.FromMinutes(minute);
        return new KegJudged
        {
            Id = $"{keg}-{minute}",
            Washer = washer,
            At = new TimeBounds(at, at),
            CycleId = $"c{minute}",
            Verdict = new KegVerdict
            {
                KegId = keg, KegIdSource = source, CycleId = $"c{minute}", Washer = washer, Station = 1, Recipe = "house", RecipeVersion = 1, Rule = DecisionRule.Bounds, Verdict = verdict, Results = [],
            },
        };
    }

    private void Make(params KegJudged[] kegs)
    {
        using var historian = HistorianFile.Open(Store, new HistorianOptions(), new SettableTime(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero)));
        historian.AppendEvents(kegs);
    }
}
