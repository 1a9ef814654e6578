using System.CommandLine;
using System.CommandLine.Parsing;
using WashBridge.Core.Time;

namespace WashBridge.Commands;

/// <summary>What reports over a period share: which period and washer, and how they are written.</summary>
internal sealed class PeriodOptions
{
    public Option<Instant?> From { get; } = new("--from") { Description = "From this instant on, ISO 8601 with a zone.", CustomParser = ParseInstant };

    public Option<Instant?> Until { get; } = new("--until") { Description = "Before this instant.", CustomParser = ParseInstant };

    public Option<string?> Washer { get; } = new("--washer") { Description = "Only this washer." };

    public Option<string> Format { get; } = new("--format") { Description = "table, csv, json or html.", DefaultValueFactory = _ => "table" };

    public Option<FileInfo?> Output { get; } = new("--output", "-o") { Description = "Write here instead of to the terminal." };

    private Option<string> ZoneName { get; } = new("--zone") { Description = "IANA time zone for times in tables and pages.", DefaultValueFactory = _ => "UTC" };

    public void AddTo(Command command)
    {
        AddPeriodTo(command);
        Format.AcceptOnlyFromAmong("table", "csv", "json", "html");
        command.Options.Add(Format);
        command.Options.Add(Output);
    }

    /// <summary>Only what says which period, for commands that write in one way.</summary>
    public void AddPeriodTo(Command command)
    {
        foreach (var option in new Option[] { From, Until, Washer, ZoneName })
        {
            command.Options.Add(option);
        }
    }

    /// <summary>Whether somebody asked for a zone, instead of leaving it at UTC.</summary>
    public bool IsZoneGiven(ParseResult parsed) => parsed.GetResult(ZoneName) is { Implicit: false };

    /// <summary>Null after printing what is wrong.</summary>
    public TimeZoneInfo? Zone(ParseResult parsed, TextWriter errors)
    {
        if (TimeZoneInfo.TryFindSystemTimeZoneById(parsed.GetValue(ZoneName)!, out var zone))
        {
            return zone;
        }

        errors.WriteLine($"--zone {parsed.GetValue(ZoneName)}: unknown. Give an IANA name such as Europe/Vienna.");
        return null;
    }

    private static Instant? ParseInstant(ArgumentResult result)
    {
        try
        {
            return Instant.Parse(result.Tokens[0].Value);
        }
        catch (FormatException)
        {
            result.AddError($"{result.Tokens[0].Value}: not an instant. Write it like 2031-03-05T06:00:00+01:00.");
            return null;
        }
    }
}
