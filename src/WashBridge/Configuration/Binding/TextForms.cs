using System.Text.RegularExpressions;

namespace WashBridge.Configuration.Binding;

/// <summary>A form that a text must have, with its name for people.</summary>
internal sealed record TextForm(Regex Pattern, string Description);

internal static partial class TextForms
{
    /// <summary>Ids stand in event ids, file names and database tags: they are kept short and plain.</summary>
    public static TextForm Id { get; } = new(IdPattern(), "a lower-case letter, then up to 39 lower-case letters, digits or hyphens");

    public static TextForm Line { get; } = new(LinePattern(), "one line of 1 to 200 characters");

    public static TextForm Host { get; } = new(HostPattern(), "a host name or an IP address, without port");

    public static TextForm Sparkplug { get; } = new(SparkplugPattern(), "1 to 100 characters, without / + # and control characters");

    public static TextForm Unit { get; } = new(UnitPattern(), "a unit of 1 to 16 characters without blanks");

    public static TextForm TimeOfDay { get; } = new(TimeOfDayPattern(), "a time of day from 00:00 to 23:59");

    [GeneratedRegex(@"^([01][0-9]|2[0-3]):[0-5][0-9]\z")]
    private static partial Regex TimeOfDayPattern();

    [GeneratedRegex(@"^[a-z][a-z0-9-]{0,39}\z")]
    private static partial Regex IdPattern();

    [GeneratedRegex(@"^[^\x00-\x1f\x7f]{1,200}\z")]
    private static partial Regex LinePattern();

    [GeneratedRegex(@"^([A-Za-z0-9]([A-Za-z0-9_.-]{0,251}[A-Za-z0-9])?|[0-9A-Fa-f:]{2,45})\z")]
    private static partial Regex HostPattern();

    [GeneratedRegex(@"^[^/+#\x00-\x1f\x7f]{1,100}\z")]
    private static partial Regex SparkplugPattern();

    [GeneratedRegex(@"^[^\s""']{1,16}\z")]
    private static partial Regex UnitPattern();
}
