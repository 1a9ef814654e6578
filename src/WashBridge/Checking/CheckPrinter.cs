using System.Globalization;
using Spectre.Console;
using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;
using WashBridge.Polling;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Checking;

/// <summary>Prints what a check found.</summary>
/// <param name="output">Where to.</param>
/// <param name="terminal">The terminal behind <paramref name="output"/>, or null where there is none.</param>
/// <param name="site">The site file, for commands to copy.</param>
internal sealed class CheckPrinter(TextWriter output, IAnsiConsole? terminal, string site)
{
    public void PrintProblems(IReadOnlyList<Problem> problems)
    {
        foreach (var problem in problems)
        {
            output.WriteLine(problem);
        }

        output.WriteLine(problems.Count == 1 ? "1 problem." : $"{problems.Count} problems.");
    }

    public void PrintSite(Site site, IReadOnlyList<string> files)
    {
        output.WriteLine($"{site.Title} ({site.Id}): {files.Count} files without problems, {site.Washers.Count} washers, {site.Washers.Sum(w => w.Tags.Count)} tags.");
        output.WriteLine();
    }

    /// <summary>What works and should be known all the same.</summary>
    public void PrintWarnings(IReadOnlyList<Problem> warnings)
    {
        foreach (var warning in warnings)
        {
            output.WriteLine($"warning: {warning}");
        }

        if (warnings.Count > 0)
        {
            output.WriteLine();
        }
    }

    /// <summary>Where recipe files and approved versions disagree.</summary>
    public void PrintConflicts(IReadOnlyList<RecipeConflict> conflicts)
    {
        foreach (var conflict in conflicts)
        {
            output.WriteLine($"warning: {conflict.Text}");
        }

        if (conflicts.Count > 0)
        {
            output.WriteLine();
        }
    }

    /// <summary>What the map, whatever the controller says, does not let anybody judge.</summary>
    public void PrintCoverage(WasherConfiguration washer)
    {
        output.WriteLine($"{washer.Model.Washer}: {(washer.Title.Length > 0 ? washer.Title : "washer")}, {washer.Model.Stations} stations, {washer.Tags.Count} tags");
        var reach = new MapReach(washer);
        foreach (var (recipe, requirements) in reach.Recipes)
        {
            output.WriteLine($"  recipe {recipe.Id} version {recipe.Version}: {requirements.Count(r => r.CanJudge)} of {requirements.Count} requirements can be judged");
            foreach (var requirement in requirements.Where(r => r.Extent != CoverageExtent.Whole))
            {
                output.WriteLine($"    {requirement.Requirement}: {requirement.Explanation}");
            }
        }

        if (reach.Parts.Where(p => !p.IsReached).ToList() is { Count: > 0 } blind)
        {
            output.WriteLine($"  wear can be forecast of {reach.Parts.Count - blind.Count} of {reach.Parts.Count} parts; not of");
            foreach (var part in blind)
            {
                output.WriteLine($"    {part.Component.Key}: lacks {string.Join(", ", part.Missing)}");
            }
        }

        foreach (var shared in reach.Shared)
        {
            output.WriteLine($"  note: {string.Join(" and ", shared.Select(t => Name(t.Signal)))} are mapped to the same {Address(shared.Key)}");
        }
    }

    public void PrintReadings(WasherCheck check)
    {
        if (check is OpcUaCheck opcUa)
        {
            new OpcUaPrinter(output, terminal, site).Print(opcUa);
        }
        else
        {
            PrintReadings((ModbusCheck)check);
        }
    }

    private void PrintReadings(ModbusCheck check)
    {
        var connection = (ModbusConnection)check.Washer.Connection;
        if (check.Failure is not null)
        {
            output.WriteLine($"  nothing could be read: {check.Failure}");
            output.WriteLine();
            return;
        }

        output.WriteLine($"  {connection.Host}:{connection.Port} unit {connection.Unit} answered {check.Requests} requests; controller: {check.Identification}");
        var table = new TextTable("signal", "address", "raw", "value", "unit", "quality", "age", "round trip");
        foreach (var tag in check.Tags)
        {
            table.Add(
                Name(tag.Tag.Signal), Address(tag.Tag.Source), Raw(tag), Value(tag.Tag, tag.Reading), tag.Tag.Signal.Unit,
                Quality(tag.Reading), Milliseconds(tag.Age), Milliseconds(tag.RoundTrip));
        }

        table.Write(output, terminal);
        output.WriteLine();
    }

    public void PrintBrokers(IReadOnlyList<MqttCheck> checks)
    {
        foreach (var check in checks)
        {
            var broker = check.Broker;
            output.WriteLine(check.Failure is { } failure
                ? $"mqtt {broker.Id}: {failure}"
                : $"mqtt {broker.Id}: {broker.Address} lets us in {(broker.User is { } user ? $"as {user}" : "without a user")}; Sparkplug group {broker.Group}, edge node {broker.EdgeNode}");
        }
    }

    public void PrintPair(PairCheck check)
    {
        if (check.Answer is not { } answer || check.Failure is not null)
        {
            output.WriteLine($"pair: {check.Pair.Partner} {(check.Answer is null ? "cannot be asked" : "is no partner of this site")}: {check.Failure}");
            return;
        }

        output.WriteLine(
            $"pair: {check.Pair.Partner} answers and {(answer.Page.Reads ? "reads" : "copies, or waits for this bridge")}; its clock is {Milliseconds(answer.Offset.Ahead.Duration())} {(answer.Offset.Ahead < TimeSpan.Zero ? "behind" : "ahead")}");
        if (answer.Page.IsFirst == check.Pair.IsFirst)
        {
            output.WriteLine($"pair.first is {(check.Pair.IsFirst ? "true" : "false")} at both: make it true at one and false at the other");
        }
    }

    public void PrintSummary(IReadOnlyList<WasherCheck> checks)
    {
        var silent = checks.Count(c => c.Failure is not null);
        var readings = checks.SelectMany(c => c.Readings).ToList();
        output.WriteLine(
            $"{checks.Count - silent} of {checks.Count} washers answered; {readings.Count(r => r.Quality == Core.Signals.Quality.Good)} tags good, "
            + $"{readings.Count(r => r.Quality == Core.Signals.Quality.Uncertain)} uncertain, {readings.Count(r => r.Quality == Core.Signals.Quality.Bad)} bad.");
    }

    internal static string Name(Signal signal) => signal.Station == 0 ? signal.Name : $"{signal.Name} station {signal.Station}";

    internal static string Address(TagSource source) => source switch
    {
        ModbusSource modbus => Address(modbus.Point),
        OpcUaSource node => node.ToString(),
        _ => throw new ArgumentOutOfRangeException(nameof(source)),
    };

    private static string Address(ModbusPoint point) => point.Table switch
    {
        ModbusTable.HoldingRegisters or ModbusTable.InputRegisters when point.Type == RegisterType.Bit => $"{Names.NameOf(point.Table)} {point.Address} bit {point.BitNumber}",
        _ => $"{Names.NameOf(point.Table)} {point.Address}",
    };

    private static string Raw(TagCheck tag) => tag.Raw.Count == 0 ? "-"
        : tag.Tag.Source is ModbusSource { Point.Table: ModbusTable.Coils or ModbusTable.DiscreteInputs } ? $"{tag.Raw[0]}"
        : string.Join(' ', tag.Raw.Select(r => r.ToString("X4", CultureInfo.InvariantCulture)));

    internal static string Value(Tag tag, TagReading reading) => reading switch
    {
        { Quality: Core.Signals.Quality.Bad } => "-",
        { Value.Text: { } text } => $"\"{text}\"",
        { Value: var value } when tag.Signal.Type == SignalType.Flag => value.IsSet ? "true" : "false",
        { Value.Number: var number } => number.ToString("G7", CultureInfo.InvariantCulture),
    };

    internal static string Quality(TagReading reading) => reading.Reason is { } reason ? $"{Names.NameOf(reading.Quality)}: {reason}" : Names.NameOf(reading.Quality);

    private static string Milliseconds(TimeSpan? time) => time is { } known ? string.Create(CultureInfo.InvariantCulture, $"{known.TotalMilliseconds:0.0} ms") : "-";
}
