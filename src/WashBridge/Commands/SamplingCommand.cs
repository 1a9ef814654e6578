using System.CommandLine;
using System.Security.Cryptography;
using WashBridge.Core.Sampling;
using WashBridge.Lots;

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
    private readonly PeriodOptions _period = new();

    private SamplingCommand()
    {
        _level.AcceptOnlyFromAmong(Enum.GetNames<InspectionLevel>());
        _inspection.AcceptOnlyFromAmong("normal", "tightened", "reduced");
    }

    public static Command Create() => new SamplingCommand().Make();

    private Command Make()
    {
        var command = new Command("sampling", """
            How many kegs of a lot to open, what that proves and what not; which ones, drawn at random so that it can be checked; and how bad the lot can be after so many of those opened failed.

            Examples:
              washbridge sampling --lot 480 --exclude 1% --confidence 95%
              washbridge sampling --lot 480 --aql 1.0 --level II --inspection normal
              washbridge sampling --lot 480 --opened 216 --failed 1
              washbridge sampling plant.washdb --from 2031-03-05T06:00:00+01:00 --until 2031-03-05T14:00:00+01:00 --exclude 2%
            Exit codes: 0 done; 1 an entry is wrong: the message says what was found and what is allowed; 3 the historian cannot be read.
            """) { _store, _exclude, _confidence, _accept, _lot, _process, _aql, _level, _inspection, _opened, _failed, _twoSided, _seed };
        _period.AddPeriodTo(command);
        command.SetAction(parsed =>
        {
            try
            {
                return Run(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            }
            catch (SamplingException wrong)
            {
                parsed.InvocationConfiguration.Error.WriteLine(wrong.Message);
                return ExitCodes.ConfigurationErrors;
            }
        });
        return command;
    }

    private static int? Count(ParseResult parsed, Option<string?> option) => parsed.GetValue(option) is { } text ? Entry.Count(option.Name, text) : null;

    private int Run(ParseResult parsed, TextWriter output, TextWriter errors)
    {
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
        var exact = parsed.GetValue(_exclude) is { } excluded ? Exact(excluded, statedLot, Count(parsed, _accept)!.Value, confidence) : null;
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
            var seed = parsed.GetValue(_seed);
            printer.Sample(kegs, seed ?? RandomNumberGenerator.GetHexString(32, lowercase: true), seed is not null, count, zone);
        }

        printer.Limits(isOfProcess: statedLot is null || tabled is not null);
        return ExitCodes.Success;
    }

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

    private static ExactPlan Exact(string excluded, int? lot, int accept, double confidence) => (Entry.Excluded(excluded), lot) switch
    {
        (({ } rate, _), null) => ExactPlan.ForProcess(rate, accept, confidence),
        (({ } rate, _), { } kegs) => ExactPlan.ForLot(kegs, rate, accept, confidence),
        ((_, { } failing), { } kegs) => ExactPlan.ForLot(kegs, failing, accept, confidence),
        _ => throw new SamplingException($"--exclude: found a number of kegs ({excluded}) without a lot; allowed: a share such as 1%, or --lot"),
    };

    private AttributePlan Tabled(ParseResult parsed, string aql, int? lot) => AttributePlan.Of(
        lot ?? throw new SamplingException("--lot: found nothing; allowed: a number of kegs, which the tables need"),
        Entry.Aql(aql),
        Enum.Parse<InspectionLevel>(parsed.GetValue(_level)!),
        Enum.Parse<Inspection>(parsed.GetValue(_inspection)!, ignoreCase: true));

    private static FailureBound Bound(int? lot, int opened, int failed, double confidence, bool isTwoSided)
        => lot is { } kegs ? FailureBound.OfLot(kegs, opened, failed, confidence, isTwoSided) : FailureBound.OfProcess(opened, failed, confidence, isTwoSided);
}
