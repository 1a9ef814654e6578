using System.Text.RegularExpressions;

namespace WashBridge.Configuration.Binding;

/// <summary>How the log is written, and how much of it.</summary>
internal static partial class LoggingBinder
{
    public const int MaxLevels = 50;

    public static LoggingConfiguration Bind(MapBinder? map)
    {
        var standard = new LoggingConfiguration();
        if (map is null)
        {
            return standard;
        }

        var logging = new LoggingConfiguration
        {
            Format = map.OptionalChoice<LogFormat>("format") ?? standard.Format,
            Levels = map.OptionalMap("levels") is { } levels ? Levels(levels) : standard.Levels,
        };
        map.Finish();
        return logging;
    }

    private static Dictionary<string, LogLevel> Levels(MapBinder map)
    {
        var levels = new Dictionary<string, LogLevel>(StringComparer.Ordinal);
        if (map.Node.Entries.Count > MaxLevels)
        {
            map.Problems.Add(map.Place, "there are too many levels", $"{map.Node.Entries.Count}", $"at most {MaxLevels}");
        }

        foreach (var entry in map.Node.Entries)
        {
            if (!Category().IsMatch(entry.Key.Text))
            {
                map.Problems.Add(entry.Key.Place, "this is no category of the log", $"\"{entry.Key.Text}\"", "default, or names with dots between them such as WashBridge.Polling");
            }
            else if (Scalars.Choice<LogLevel>(entry.Value, map.Problems) is { } level)
            {
                levels[entry.Key.Text] = level;
            }
        }

        return levels;
    }

    [GeneratedRegex(@"^[A-Za-z][A-Za-z0-9_]*(\.[A-Za-z0-9_]+){0,19}\z")]
    private static partial Regex Category();
}
