using System.CommandLine;

namespace WashBridge.Commands;

/// <summary>The zone in which a command tells times.</summary>
internal sealed class ZoneOption
{
    public Option<string> Name { get; } = new("--zone") { Description = "IANA time zone for times.", DefaultValueFactory = _ => "UTC" };

    /// <summary>Null after printing what is wrong.</summary>
    public TimeZoneInfo? Zone(ParseResult parsed, TextWriter errors)
    {
        if (TimeZoneInfo.TryFindSystemTimeZoneById(parsed.GetValue(Name)!, out var zone))
        {
            return zone;
        }

        errors.WriteLine($"--zone {parsed.GetValue(Name)}: unknown. Give an IANA name such as Europe/Vienna.");
        return null;
    }
}
