using System.CommandLine;
using System.Security.Cryptography;
using WashBridge.Core.Sampling;
using WashBridge.Lots;
using WashBridge.Orders;

namespace WashBridge.Commands;

/// <summary><c>sampling</c>: how many kegs of a lot to open, what that proves, and which ones.</summary>
internal sealed class SamplingCommand
{
    private readonly Argument<FileInfo?> _store = new("store") { Description = "The historian's file; the kegs of the period are the lot then, and those to open are drawn.", Arity = ArgumentArity.ZeroOrOne };
    private readonly Option<string?> _lot = new("--lot") { Description = "Kegs in the lot; without it (and without a historian) the statement is about the washer as it washes." };
    private readonly Option<string?> _exclude = new("--exclude") { Description = "What the sample must exclude: a failure rate such as 1%, or a number of failing kegs of the lot such as 5." };
    private readonly Option<string> _confidence = new("--confidence") { Description = "With which confidence, 50% to 99.9999%.", DefaultValueFactory = _ => "95%" };
    private readonly Option<string?> _accept = new("--accept") { Description = "Failing kegs that the sample may show.", DefaultValueFactory = _ => "0" };
    private readonly Option<bool> _process = new("--process") { Description = "A statement about the washer as it washes, instead of about the lot." };
    private readonly Option<string?> _aql = new("--aql") { Description = "A plan of the tables instead: acceptance quality limit in per cent of failing kegs, 0.010 to 10." };
    private readonly Option<string> _level = new("--level") { Description = "General inspection level of the tables: I, II or III.", DefaultValueFactory = _ => "II" };
    private readonly Option<string> _inspection = new("--inspection") { Description = "normal, tightened or reduced, as the lots before demand.", DefaultValueFactory = _ => "normal" };
    private readonly Option<string?> _opened = new("--opened") { Description = "So many kegs were opened." };
    private readonly Option<string?> _failed = new("--failed") { Description = "So many of them failed." };
    private readonly Option<bool> _twoSided = new("--two-sided") { Description = "A lower and an upper bound, each with half of the risk." };
    private readonly Option<string?> _seed = new("--seed") { Description = "Draws again what this seed drew; best agreed on before the lot exists. Without it, one is made." };
    private readonly Option<bool> _record = new("--record") { Description = "Records the draw: plan, seed and kegs drawn, before the first is opened. Needs a historian, --name, --by, --from and --until." };
    private readonly Option<string?> _name = new("--name") { Description = "What the lot is called, for --record." };
    private readonly Option<string?> _reason = new("--reason") { Description = "Why the kegs are opened, for --record." };
    private readonly Option<string?> _kind = new("--kind") { Description = "What is looked at in each keg, for --record: spear-pull or swab. Left out: spear-pull." };
    private readonly Option<bool> _steady = new("--steady") { Description = "For --record with --aql: washing ran as usual, and the responsible person agrees that good lots lead to reduced inspection." };
    private readonly OrderOptions _order = new();
    private readonly PeriodOptions _period = new();

    private SamplingCommand()
    {
        _level.AcceptOnlyFromAmong(Enum.GetNames<InspectionLevel>());
        _inspection.AcceptOnlyFromAmong("normal", "tightened", "reduced");
        _kind.AcceptOnlyFromAmong([.. Telling.Openings]);
    }

    public static Command Create(TimeProvider time) => new SamplingCommand().Make(time);

    private Command Make(TimeProvider time)
    {
        var command = new Command("sampling", """
            How many kegs of a lot to open, what that proves and what not; which ones, drawn at random so that it can be checked; and how bad the lot can be after so many of those opened failed.

            Examples:
              washbridge sampling --lot 480 --exclude 1% --confidence 95%
              washbridge sampling --lot 480 --aql 1.0 --level II --inspection normal
              washbridge sampling --lot 480 --opened 216 --failed 1
              washbridge sampling plant.washdb --from 2031-03-05T06:00:00+01:00 --until 2031-03-05T14:00:00+01:00 --exclude 2%
              washbridge sampling plant.washdb --from 2031-03-05T06:00:00+01:00 --until 2031-03-05T14:00:00+01:00 --exclude 2% --record --name "early shift" --by "T. Ester" --site config/site.yaml
            Exit codes: 0 done; 1 an entry is wrong: the message says what was found and what is allowed; 3 the historian cannot be read.
            """) { _store, _exclude, _confidence, _accept, _lot, _process, _aql, _level, _inspection, _opened, _failed, _twoSided, _seed, _record, _name, _reason, _kind, _steady };
        _period.AddPeriodTo(command);
        _order.By.Required = false;
        _order.AddTo(command, withWasher: false);
        command.SetAction(async (parsed, cancellation) =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            try
            {
                var exit = Run(parsed, output, errors, out var told);
                return told is not null && _order.Delivery(parsed, parsed.GetValue(_store)!, output, errors) is { } delivery
                    ? await delivery.BringAsync(Endpoints.Draws, told, (historian, now) => Telling.Draw(told, historian, now, Teller.Command), time, cancellation)
                    : told is null ? exit : ExitCodes.ConfigurationErrors;
            }
            catch (SamplingException wrong)
            {
                await errors.WriteLineAsync(wrong.Message);
                return ExitCodes.ConfigurationErrors;
            }
        });
        return command;
    }

    private static int? Count(ParseResult parsed, Option<string?> option) => parsed.GetValue(option) is { } text ? Entry.Count(option.Name, text) : null;

    /// <param name="told">The draw, where it is to be recorded.</param>
    private int Run(ParseResult parsed, TextWriter output, TextWriter errors, out ToldDraw? told)
    {
        told = null;
        Check(parsed);
        if (_period.Zone(parsed, errors) is not { } zone)
        {
            return ExitCodes.ConfigurationErrors;
        }

        var kegs = Kegs(parsed);
        var size = kegs?.Kegs.Count ?? Count(parsed, _lot);
        var confidence = Entry.Percent("--confidence", parsed.GetValue(_confidence)!);
        var statedLot = parsed.GetValue(_process) ? null : size;

        // All is computed before anything is printed: a wrong entry leaves no half of an answer.
        var exact = parsed.GetValue(_exclude) is { } excluded ? LotPlan.Exact(excluded, statedLot, Count(parsed, _accept)!.Value, confidence) : null;
        var tabled = parsed.GetValue(_aql) is { } aql ? Tabled(parsed, aql, size) : null;
        var bound = (Count(parsed, _opened), Count(parsed, _failed)) is ({ } opened, { } failed) ? Bound(statedLot, opened, failed, confidence, parsed.GetValue(_twoSided)) : null;
        var toOpen = exact?.SampleSize ?? tabled?.SampleSize;
        if (kegs is not null && toOpen > kegs.Kegs.Count)
        {
            throw new SamplingException($"sample size: found {toOpen}, which the plan for the washer asks for; allowed: up to the {kegs.Kegs.Count} kegs of the period. Take a longer period, or leave out --process.");
        }

        var printer = new SamplingPrinter(output);
        if (kegs is not null)
        {
            printer.Lot(kegs);
        }

        if (exact is not null)
        {
            printer.Write(exact);
        }

        if (tabled is not null)
        {
            printer.Write(tabled);
        }

        if (bound is not null)
        {
            printer.Write(bound);
            if (toOpen is { } planned)
            {
                var accept = exact?.AcceptanceNumber ?? tabled!.AcceptanceNumber;
                printer.Decision(planned, accept, tabled?.RejectionNumber ?? accept + 1, bound.Opened, bound.Failed);
            }
        }

        if (kegs is not null && toOpen is { } count)
        {
            var given = parsed.GetValue(_seed);
            var seed = given ?? RandomNumberGenerator.GetHexString(32, lowercase: true);
            printer.Sample(kegs, seed, given is not null, count, zone);
            told = parsed.GetValue(_record) ? Told(parsed, kegs, seed) : null;
        }

        printer.Limits(isOfProcess: statedLot is null || tabled is not null);
        return ExitCodes.Success;
    }

    private ToldDraw Told(ParseResult parsed, LotKegs kegs, string seed) => new(
        parsed.GetValue(_name), parsed.GetValue(_period.From)?.ToString(), parsed.GetValue(_period.Until)?.ToString(), seed, parsed.GetValue(_order.By), parsed.GetValue(_reason),
        parsed.GetValue(_period.Washer), kegs.Fingerprint(), parsed.GetValue(_exclude), parsed.GetValue(_confidence), parsed.GetValue(_accept), parsed.GetValue(_process), parsed.GetValue(_aql),
        parsed.GetValue(_level), parsed.GetValue(_inspection), parsed.GetValue(_kind), parsed.GetValue(_steady));

    /// <summary>What does not go together.</summary>
    private void Check(ParseResult parsed)
    {
        var (exclude, aql, opened, failed) = (parsed.GetValue(_exclude), parsed.GetValue(_aql), parsed.GetValue(_opened), parsed.GetValue(_failed));
        var problem = (exclude, aql, opened, failed) switch
        {
            (not null, not null, _, _) => "--exclude and --aql: found both; allowed: one plan at a time",
            (null, null, null, null) => "found nothing to answer; allowed: --exclude (a failure rate to exclude), --aql (a plan of the tables), or --opened with --failed (a result)",
            (_, _, not null, null) or (_, _, null, not null) => "--opened and --failed: found one of them; allowed: both or none",
            _ when parsed.GetValue(_store) is not null && parsed.GetValue(_lot) is not null => "--lot: found beside a historian; allowed: one of them, because the kegs of the period are the lot",
            _ when parsed.GetValue(_store) is null && (parsed.GetValue(_seed) ?? parsed.GetValue(_period.Washer)) is not null => "--seed and --washer: found without a historian; allowed: with one, whose kegs are drawn from",
            _ when parsed.GetValue(_store) is null && (parsed.GetValue(_period.From) ?? parsed.GetValue(_period.Until)) is not null => "--from and --until: found without a historian; allowed: with one, whose kegs are drawn from",
            _ when !parsed.GetValue(_record) && ((parsed.GetValue(_name) ?? parsed.GetValue(_order.By) ?? parsed.GetValue(_reason) ?? parsed.GetValue(_kind)) is not null || parsed.GetValue(_steady)) =>
                "--name, --by, --reason, --kind and --steady: found without --record; allowed: with it",
            (_, null, _, _) when parsed.GetValue(_steady) => "--steady: found without --aql; allowed: with it, because only the tables know reduced inspection",
            (null, null, _, _) when parsed.GetValue(_record) => "--record: found without a plan; allowed: with --exclude or --aql",
            _ when parsed.GetValue(_record) && (parsed.GetValue(_store) is null || parsed.GetValue(_name) is null || parsed.GetValue(_order.By) is null || parsed.GetValue(_period.From) is null || parsed.GetValue(_period.Until) is null) =>
                "--record: found without all that a record needs; allowed: with a historian, --name, --by, --from and --until",
            (_, not null, _, _) when Count(parsed, _accept) != 0 => "--accept: found beside --aql; allowed: with --exclude, because the tables have their own acceptance numbers",
            _ => null,
        };
        if (problem is not null)
        {
            throw new SamplingException(problem);
        }
    }

    private LotKegs? Kegs(ParseResult parsed)
    {
        if (parsed.GetValue(_store) is not { } file)
        {
            return null;
        }

        if (!file.Exists)
        {
            throw new SamplingException($"{file.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
        }

        using var historian = Historian.Historian.OpenReader(file.FullName);
        var kegs = LotKegs.Read(historian, parsed.GetValue(_period.From), parsed.GetValue(_period.Until), parsed.GetValue(_period.Washer));
        return kegs.Kegs.Count > 0
            ? kegs
            : throw new SamplingException($"{file.FullName}: found no keg of this period{(kegs.NotMet > 0 ? $" but {kegs.NotMet} whose verdict is not met" : "")}; allowed: a period in which kegs were judged");
    }

    private AttributePlan Tabled(ParseResult parsed, string aql, int? lot) => LotPlan.Tabled(
        aql, lot ?? throw new SamplingException("--lot: found nothing; allowed: a number of kegs, which the tables need"), parsed.GetValue(_level)!, parsed.GetValue(_inspection)!);

    private static FailureBound Bound(int? lot, int opened, int failed, double confidence, bool isTwoSided)
        => lot is { } kegs ? FailureBound.OfLot(kegs, opened, failed, confidence, isTwoSided) : FailureBound.OfProcess(opened, failed, confidence, isTwoSided);
}
